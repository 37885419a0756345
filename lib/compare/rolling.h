/* Rolling beside drag: how the Crr of tyres differs, with how the setups' CdA does.
 *
 * To the table's log CdA of each run (compare/run_model.h) come, of each outing that does not give
 * Crr, the Crr of each set of tyres as all its runs together have it:
 *
 *   log CdA of run i = drag of its setup     + own_i + b_i w_i + sum over kinds of H_ik w_k +
 * noise_i Crr of tyres t   = Crr of tyres so named + outing          + sum over kinds of G_tk w_k +
 * noise_t
 *
 * The noise and the outings' systematic causes have the joint covariance of both, in which what one
 * has too much the other has too little: their sum is known far better than either. A run's own
 * scatter is taken for wind, for nothing tells it from that. A wind is not wholly drag: what is the
 * same in all runs of a kind, w_k, moves the Crr of their tyres (G) and with it the CdA of all runs
 * on them (H, which has what the runs' own mean does too); what differs between them, w_i, moves
 * the run's own CdA as it does without tyres (fit/budget.h). An outing's road and warmth shift the
 * Crr of all its tyres alike, by 0.001 or so (common practice, no source), which cancels in
 * differences of tyres ridden in one outing; of a single outing Crr is that of its road and day.
 *
 * Where each outing has its own tyres the new values have coefficients of their own and tell
 * nothing of drag or of the scatters, whose likelihood is that of the run model; tyres that
 * several outings have are pooled at the same scatters. */
#ifndef CW_COMPARE_ROLLING_H
#define CW_COMPARE_ROLLING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"
#include "compare/run_model.h"
#include "compare/run_table.h"

struct cw_rolling {
    size_t n_tyres; /* sets of tyres, by name; 0: there is nothing to compare */
    const char **tyres;
    size_t *of_setup; /* its column among them, SIZE_MAX: its Crr is not asked for */
    size_t n_drags;
    const size_t *drag;              /* the model's */
    struct cw_components components; /* drags, then tyres */
};

/* rolling->n_tyres stays 0 where no two setups of one rider are on different tyres whose Crr is
 * asked for. What it is made of must outlive it. Free with cw_rolling_free, also after an error. */
enum cw_status cw_rolling_fit(const struct cw_table_of_runs *table,
                              const struct cw_fit *const *fits, const struct cw_compare *compare,
                              const struct cw_run_model *model, struct cw_rolling *rolling,
                              struct cw_error *error);
/* The same whatever tyres the setups are on, and where Crr was given too: all that the runs tell of
 * drag and rolling together, n_tyres is not 0. */
enum cw_status cw_rolling_fit_all(const struct cw_table_of_runs *table,
                                  const struct cw_fit *const *fits,
                                  const struct cw_compare *compare,
                                  const struct cw_run_model *model, struct cw_rolling *rolling,
                                  struct cw_error *error);
void cw_rolling_free(struct cw_rolling *rolling);

/* Whether the two setups are on different tyres, both asked for. */
bool cw_rolling_differs(const struct cw_rolling *rolling, size_t setup, size_t reference);

/* What log CdA and Crr of a setup and of the reference count in a quantity. */
struct cw_rolling_weights {
    double log_cda[2], crr[2]; /* the setup's, the reference's */
};

/* That quantity, as cw_components_contrast has it; all 0, as of two that are said to be the same,
 * is 0 for sure, with a p of NaN. */
enum cw_status cw_rolling_contrast(const struct cw_rolling *rolling, size_t setup, size_t reference,
                                   const struct cw_rolling_weights *weights,
                                   struct cw_estimate *estimate, double *df, double *p_value,
                                   struct cw_error *error);

/* The correlation of two quantities whose standard errors are a_se and b_se: from those of their
 * sum and difference in these units, so that it goes with the errors given. */
enum cw_status cw_rolling_correlation(const struct cw_rolling *rolling, size_t setup,
                                      size_t reference, const struct cw_rolling_weights *a,
                                      double a_se, const struct cw_rolling_weights *b, double b_se,
                                      double *correlation, struct cw_error *error);

#endif
