/* What the road and the day let be told: which part of the road, from which speed, in which wind.
 */
#ifndef CW_PLAN_ADVICE_H
#define CW_PLAN_ADVICE_H

#include "base/error.h"
#include "plan/expected.h"
#include "plan/plan.h"

/* Fills parts and starts. */
enum cw_status cw_plan_advise_road(const struct cw_plan_day *day, struct cw_plan *plan,
                                   struct cw_error *error);

/* Fills winds, wind_twice_ms and wind_limit_ms: within_sd, what runs scatter by without wind, as an
 * sd of log CdA of one run; by_ms, how that answers to a wind of 1 m/s; level, of the test. */
void cw_plan_advise_winds(double within_sd, double by_ms, double log_difference, double level,
                          struct cw_plan *plan);

#endif
