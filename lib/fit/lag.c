#include "fit/lag.h"

#include <math.h>

struct cw_lag_step cw_lag_step_make(double step_s, double time_s) {
    double x = step_s / time_s;
    if (!(time_s > 0)) return (struct cw_lag_step){.there = 1};
    double keep = exp(-x), mean = -expm1(-x) / x; /* of exp(-t/time) over the step */
    return (struct cw_lag_step){.keep = keep, .here = mean - keep, .there = 1 - mean};
}
