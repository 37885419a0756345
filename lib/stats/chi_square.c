#include "stats/chi_square.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdbool.h>

#include "stats/tail.h"

/* GSL's sums do not converge above some 2e6, and its default error handler then ends the program.
 */
static bool has_value(double df) {
    return df > 0 && df <= 1e6;
}

double cw_chi_square_above(double x, double df) {
    return has_value(df) && x >= 0 ? gsl_cdf_chisq_Q(x, df) : NAN;
}

double cw_chi_square_quantile(double probability, double df) {
    if (!has_value(df) || !(probability >= 0 && probability <= 1)) return NAN;
    return probability < 1 ? cw_tail_inverse(gsl_cdf_chisq_Q, df, 1 - probability) : INFINITY;
}
