/* What the runs of a joint say of Crr and CdA: all together and, where asked for, each alone. */
#ifndef CW_FIT_SUMMARY_H
#define CW_FIT_SUMMARY_H

#include <stdbool.h>

#include "base/error.h"
#include "fit/information.h"
#include "fit/joint.h"

struct cw_summary {
    size_t n_runs;
    struct cw_information together, *alone; /* alone: NULL, or a run each */
};

/* All zero; to be filled by cw_joint_evaluate. Free with cw_summary_free; after an
 * error nothing is left to free. */
enum cw_status cw_summary_alloc(const struct cw_joint *joint, bool alone,
                                struct cw_summary *summary, struct cw_error *error);
void cw_summary_free(struct cw_summary *summary);

#endif
