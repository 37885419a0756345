#include "stats/student.h"

#include <float.h>
#include <gsl/gsl_cdf.h>
#include <math.h>

#include "stats/root.h"

/* From here on Student's t is the normal distribution to the last digit, and GSL has no value for
 * far larger df. */
static const double normal_df = 1e16;

struct passing {
    double chance, df;
};

static double passes(double x, void *state) {
    const struct passing *passing = state;
    return gsl_cdf_tdist_Q(x, passing->df) - passing->chance;
}

/* The x >= 0 that is passed with the chance, below a half, to the last digits. GSL's own inverse is
 * not used: its search can give up, and its default error handler then ends the program. */
static double passed_with(double chance, double df) {
    double low = 0, high = 1;
    while (gsl_cdf_tdist_Q(high, df) > chance && high < DBL_MAX / 4) {
        low = high;
        high *= 2;
    }
    struct passing passing = {chance, df};
    return gsl_cdf_tdist_Q(high, df) > chance ? high : cw_root(passes, &passing, low, high, 0);
}

double cw_t_quantile(double probability, double df) {
    if (!(df >= 1 && probability >= 0 && probability <= 1)) return NAN;
    if (df >= normal_df) return gsl_cdf_ugaussian_Pinv(probability);
    double chance = fmin(probability, 1 - probability);
    if (chance == 0.5) return 0;
    double reach = chance > 0 ? passed_with(chance, df) : INFINITY;
    return probability < 0.5 ? -reach : reach;
}

double cw_t_p_value(double t, double df) {
    if (!(df > 0) || isnan(t)) return NAN;
    df = fmax(df, DBL_MIN); /* below, GSL's sums overflow */
    return 2 * (df >= normal_df ? gsl_cdf_ugaussian_Q(fabs(t)) : gsl_cdf_tdist_Q(fabs(t), df));
}
