#include "timed/timing.h"

#include <math.h>

#include "stats/tests.h"

double cw_timing_pair(double there_s, double back_s) {
    if (!(there_s > 0 && back_s > 0)) return NAN;
    return 2 / (1 / there_s + 1 / back_s);
}

double cw_timing_factor(size_t n) {
    return n < 2 ? NAN : cw_t_quantile(0.975, (double)n - 1);
}

enum cw_status cw_timing_mean(size_t n, const double *time_s, struct cw_timing *timing,
                              struct cw_error *error) {
    *timing = (struct cw_timing){n, NAN, NAN, NAN};
    if (n < 2)
        return cw_error_set(error, CW_E_DATA, NULL, 0,
                            "%zu times are too few to judge their scatter by", n);
    double reciprocals = 0;
    for (size_t i = 0; i < n; i++) {
        if (!(time_s[i] > 0 && isfinite(time_s[i])))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "time %zu is not above 0 seconds",
                                i + 1);
        reciprocals += 1 / time_s[i];
    }
    double mean_s = (double)n / reciprocals, squares = 0;
    for (size_t i = 0; i < n; i++) squares += (time_s[i] - mean_s) * (time_s[i] - mean_s);
    timing->mean_s = mean_s;
    timing->sd_s = sqrt(squares / (double)(n - 1));
    timing->precision = cw_timing_factor(n) * timing->sd_s / (sqrt((double)n) * mean_s);
    return CW_OK;
}
