/* What a difference between two setups is worth: newtons and watts on the level, seconds and metres
 * of run-out on a road. */
#ifndef CW_COMPARE_WORTH_H
#define CW_COMPARE_WORTH_H

#include "base/error.h"
#include "compare/compare.h"
#include "compare/rolling.h"
#include "fit/fit.h"

/* Sets what comparison has in seconds, metres, newtons and watts, on the road and in the air of
 * fit, an outing with runs of both setups; all NaN where that is NULL. From the difference in drag
 * alone: the reference at reference_cda, the setup at that times e^log_difference, each with its
 * own tyres' Crr as it was fitted. */
void cw_worth_of_drag(const struct cw_fit *fit, const struct cw_compare *compare,
                      double reference_cda, const struct cw_estimate *log_difference,
                      struct cw_comparison *comparison);

/* The same from drag and rolling as they are known together: each quantity goes by the four numbers
 * in a straight line about the estimates. Sets the test of the force at CW_SUM_KMH too. */
enum cw_status cw_worth_of_both(const struct cw_fit *fit, const struct cw_compare *compare,
                                const struct cw_rolling *rolling, struct cw_comparison *comparison,
                                struct cw_error *error);

#endif
