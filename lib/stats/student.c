#include "stats/student.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <math.h>

double cw_t_quantile(double probability, double df) {
    if (!(df >= 1 && probability >= 0 && probability <= 1)) return NAN;
    if (isinf(df)) return gsl_cdf_ugaussian_Pinv(probability);
    /* GSL's iteration can give up (it does for some df below 1), and would end the program. */
    gsl_error_handler_t *handler = gsl_set_error_handler_off();
    double quantile = gsl_cdf_tdist_Pinv(probability, df);
    gsl_set_error_handler(handler);
    return quantile;
}

double cw_t_p_value(double t, double df) {
    if (!(df > 0) || isnan(t)) return NAN;
    return 2 * (isinf(df) ? gsl_cdf_ugaussian_Q(fabs(t)) : gsl_cdf_tdist_Q(fabs(t), df));
}
