/* Stretches of one recording that are runs or looked like runs, each with its reasons. */
#ifndef CW_RUNS_STRETCHES_H
#define CW_RUNS_STRETCHES_H

#include "base/error.h"
#include "motion/motion.h"
#include "recording/recording.h"
#include "runs/options.h"
#include "runs/run.h"

/* Appends to runs, in time order, what recording number `index` holds. Roads and numbers are not
 * set yet. */
enum cw_status cw_stretches_find(const struct cw_recording *recording,
                                 const struct cw_motion *motion, size_t index,
                                 const struct cw_runs_options *options, struct cw_runs *runs,
                                 struct cw_error *error);

#endif
