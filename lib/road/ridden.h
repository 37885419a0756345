/* An outing as it was ridden: what was recorded, the motion in it, and its runs, each with its road
 * and setup. The fit and the timing begin with it. */
#ifndef CW_ROAD_RIDDEN_H
#define CW_ROAD_RIDDEN_H

#include <stddef.h>

#include "base/public.h"
#include "motion/motion.h"
#include "outing/outing.h"
#include "recording/recording.h"
#include "runs/runs.h"

CW_PUBLIC_BEGIN

struct cw_air_log; /* outing/air_log.h */

/* All borrowed. */
struct cw_ridden {
    const struct cw_outing *outing;
    size_t n_recordings;
    const struct cw_recording *recordings;
    const struct cw_motion *motions; /* one for each recording */
    const struct cw_runs *runs;      /* roads numbered (road/shared.h), setups set */
    const struct cw_air_log *log;    /* of the air beside the road; NULL: none */
    size_t threads;                  /* that may work on it; 0 and 1: the caller's alone */
};

CW_PUBLIC_END

#endif
