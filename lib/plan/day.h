/* The day that a plan is for: bicycle, air, place, recorder and the outing as its file would say
 * it. */
#ifndef CW_PLAN_DAY_H
#define CW_PLAN_DAY_H

#include "base/error.h"
#include "plan/expected.h"
#include "plan/plan.h"

/* From options that are settled; ground and noise are borrowed, and so are the options. Free with
 * cw_plan_day_free, also after an error. */
enum cw_status cw_plan_day_make(const struct cw_plan_options *options,
                                const struct cw_plan_ground *ground,
                                const struct cw_plan_noise *noise, struct cw_plan_day *day,
                                struct cw_error *error);
void cw_plan_day_free(struct cw_plan_day *day);

#endif
