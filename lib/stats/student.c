#include "stats/student.h"

#include <float.h>
#include <gsl/gsl_cdf.h>
#include <math.h>

#include "stats/tail.h"

/* From here on Student's t is the normal distribution to the last digit, and GSL has no value for
 * far larger df. */
static const double normal_df = 1e16;

double cw_t_quantile(double probability, double df) {
    if (!(df >= 1 && probability >= 0 && probability <= 1)) return NAN;
    if (df >= normal_df) return gsl_cdf_ugaussian_Pinv(probability);
    double chance = fmin(probability, 1 - probability);
    if (chance == 0.5) return 0;
    double reach = chance > 0 ? cw_tail_inverse(gsl_cdf_tdist_Q, df, chance) : INFINITY;
    return probability < 0.5 ? -reach : reach;
}

double cw_t_p_value(double t, double df) {
    if (!(df > 0) || isnan(t)) return NAN;
    df = fmax(df, DBL_MIN); /* below, GSL's sums overflow */
    return 2 * (df >= normal_df ? gsl_cdf_ugaussian_Q(fabs(t)) : gsl_cdf_tdist_Q(fabs(t), df));
}
