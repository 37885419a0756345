/* A recording with what has been told of each of its samples. */
#ifndef CW_RUNS_TOLD_H
#define CW_RUNS_TOLD_H

#include <stddef.h>

#include "motion/motion.h"
#include "recording/recording.h"
#include "runs/balance.h"
#include "runs/modes.h"
#include "runs/pedalling.h"

/* All borrowed. */
struct cw_told {
    const struct cw_recording *recording;
    const struct cw_motion *motion;
    size_t index; /* the recording's number */
    double height_sd_m;
    const struct cw_balance *balance;
    double cda_m2;        /* what its coasts show in the middle */
    const double *even_m; /* the head, with a coast's losses added back (runs/balance.h) */
    const enum cw_pedalling *pedalling;
    const enum cw_mode *mode;
};

#endif
