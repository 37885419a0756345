#include "stats/ratio.h"

#include <math.h>

struct cw_estimate cw_ratio(double above, double above_se, double below, double below_se,
                            double correlation, double quantile) {
    double t2 = quantile * quantile, both = correlation * above_se * below_se;
    /* a r^2 - 2 b r + c <= 0 */
    double a = below * below - t2 * below_se * below_se, b = above * below - t2 * both,
           c = above * above - t2 * above_se * above_se;
    double r = above / below,
           variance = above_se * above_se - 2 * r * both + r * r * below_se * below_se;
    if (!(a > 0)) return (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    double root = sqrt(fmax(0, b * b - a * c));
    return (struct cw_estimate){r, sqrt(fmax(0, variance)) / fabs(below), (b - root) / a,
                                (b + root) / a, 0};
}
