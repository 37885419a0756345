/* What a comparison of expected runs will say, over the ways in which runs may scatter.
 *
 * The table of the runs and the model over it are the comparison's (compare/run_table.h,
 * run_model.h). Runs that scatter as expected are put into it some dozen times: each time the model
 * integrates over what it does not know, as it will, and gives an interval. Which directions runs
 * scatter in is drawn, from one and the same numbers always; by how much in all is taken evenly
 * over what chance allows, so that few are enough. How far the difference itself is then off is
 * independent of that and needs no drawing: it is normal, of the variance that least squares has.
 */
#ifndef CW_PLAN_PROMISE_H
#define CW_PLAN_PROMISE_H

#include <stddef.h>

#include "base/error.h"
#include "plan/expected.h"
#include "plan/plan.h"

/* By what runs truly scatter, as far as that is known: so many points of equal weight. */
enum { CW_PLAN_TRUTHS = 12 };
struct cw_plan_truth {
    /* The noise within runs over what the fit takes it for; a run's own scatter of log CdA; the sd
     * of winds that are much the same in neighbouring runs, as the comparison takes them
     * (fit/between.h), and of such as are a run's own, m/s. */
    double noise, own, wind_ms, own_wind_ms;
};

struct cw_plan_promised {
    size_t n;                    /* ways to scatter */
    double sd[CW_PLAN_TRUTHS];   /* of log CdA's difference */
    double half[CW_PLAN_TRUTHS]; /* of the interval at the level that is tested at */
    double half_95[CW_PLAN_TRUTHS], standard_error[CW_PLAN_TRUTHS];
};

/* Of the first two setups. level: of the test of that one difference, 0.05 for a single one. */
enum cw_status cw_plan_promise_make(const struct cw_plan_expected *expected, size_t n_setups,
                                    const struct cw_plan_truth truth[CW_PLAN_TRUTHS], double level,
                                    struct cw_plan_promised *promised, struct cw_error *error);

/* Half the 95 % interval of the first two setups' difference in Crr, of runs in which each setup is
 * on tyres of its own (cw_plan_look.tyres): with drags of their own, or one that they are said to
 * have. */
enum cw_status cw_plan_promise_rolling(const struct cw_plan_expected *expected, size_t n_setups,
                                       const struct cw_plan_truth truth[CW_PLAN_TRUTHS],
                                       bool one_drag, double half_crr[CW_PLAN_TRUTHS],
                                       struct cw_error *error);

/* The same of more runs, or fewer: as errors go with the root of their number. */
struct cw_plan_promised cw_plan_promise_scaled(const struct cw_plan_promised *promised,
                                               double times_runs);

/* The chance that a difference of log CdA is found with its true sign; and the one that is found
 * with a power. */
double cw_plan_promise_power(const struct cw_plan_promised *promised, double log_difference);
double cw_plan_promise_smallest(const struct cw_plan_promised *promised, double power);

/* What the noise alone makes of the difference between the means of the first two setups, as an sd
 * of log CdA, and a run's part of it as if runs were independent. Of any depth of fit. */
void cw_plan_noise_of_difference(const struct cw_fit *fit, double *sd, double *of_run);
/* How that answers to the noise: of a whole fit (fit/held.h). */
enum cw_status cw_plan_answer(const struct cw_fit *fit, double answer[CW_REML_MOST],
                              struct cw_error *error);

#endif
