/* What a page or a picture is made from: outings as read, fitted and compared. All borrowed. */
#ifndef CW_REPORT_REPORT_H
#define CW_REPORT_REPORT_H

#include <stddef.h>

#include "compare/compare.h"
#include "fit/fit.h"
#include "motion/motion.h"
#include "outing/outing.h"
#include "recording/recording.h"
#include "runs/runs.h"

struct cw_report_outing {
    const struct cw_outing *outing;
    size_t n_recordings;
    const struct cw_recording *recordings;
    const struct cw_motion *motions;
    const struct cw_runs *runs; /* kept and turned down */
    const size_t *setups;       /* each run's, (size_t)-1 where it has none */
    const struct cw_fit *fit;
};

struct cw_report {
    size_t n;
    const struct cw_report_outing *outings;
    const struct cw_compare *compare; /* NULL where no run has a setup */
};

#endif
