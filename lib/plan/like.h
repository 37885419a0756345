/* What is taken from an outing that the planned one is to be like. */
#ifndef CW_PLAN_LIKE_H
#define CW_PLAN_LIKE_H

#include "base/error.h"
#include "plan/expected.h"
#include "plan/plan.h"
#include "plan/promise.h"

/* Settles what options leave open by options->like, and its recorder's ways: start speed, interval,
 * steps of the heights, how long it is from run to run. CW_E_DATA. */
enum cw_status cw_plan_like_settle(struct cw_plan_options *options, struct cw_error *error);

/* Whether its recordings have a speed, and whether nothing but energy tells where its runs end. */
bool cw_plan_like_has_speed(const struct cw_fit *fit);
bool cw_plan_like_by_energy(const struct cw_fit *fit);

/* What runs scatter by, as far as an outing tells: points of equal weight from all that its runs
 * leave possible (fit/between.h). */
enum cw_status cw_plan_like_truths(const struct cw_fit *fit,
                                   struct cw_plan_truth truth[CW_PLAN_TRUTHS],
                                   struct cw_error *error);

/* *turn_s: seconds from one run's beginning to the next one's, the median; NaN: there are no two.
 */
enum cw_status cw_plan_like_turn_s(const struct cw_fit *fit, double *turn_s,
                                   struct cw_error *error);

#endif
