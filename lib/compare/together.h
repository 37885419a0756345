/* Drag and rolling of an outing's setups as they are known together, for whoever asks what they
 * make elsewhere: CdA and Crr are strongly correlated, so that what both do is known far better
 * than either, and what two setups do differently far better than what each does. */
#ifndef CW_COMPARE_TOGETHER_H
#define CW_COMPARE_TOGETHER_H

#include "base/error.h"
#include "base/estimate.h"
#include "compare/compare.h"
#include "compare/rolling.h"
#include "compare/run_model.h"
#include "compare/run_table.h"
#include "fit/fit.h"

struct cw_setups_together {
    const struct cw_fit *fit;
    struct cw_table_of_runs table;
    struct cw_run_model model;
    struct cw_rolling rolling;
};

/* Of the setups of compare, which is of that fit alone; both must outlive it. CW_E_DATA where no
 * setup tells a CdA. Free with cw_setups_together_free, also after an error. */
enum cw_status cw_setups_together_make(const struct cw_fit *fit, const struct cw_compare *compare,
                                       struct cw_setups_together *together, struct cw_error *error);
void cw_setups_together_free(struct cw_setups_together *together);

/* log CdA and Crr (at the fit's mean temperature) of a setup that tells a CdA, and their
 * correlation. */
enum cw_status cw_setups_together_level(const struct cw_setups_together *together, size_t setup,
                                        struct cw_estimate *log_cda, struct cw_estimate *crr,
                                        double *correlation, struct cw_error *error);

/* What a systematic cause, off by its standard uncertainty, does to a setup's log CdA and its
 * tyres' Crr: the errors that are in the covariance already. 0 for a cause that the outing has not.
 * *uncertainty may be NULL; 0 likewise. */
void cw_setups_together_cause(const struct cw_setups_together *together, size_t setup,
                              enum cw_cause_kind kind, double *log_cda, double *crr,
                              double *uncertainty);

#endif
