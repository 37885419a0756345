#include "stats/root.h"

#include <float.h>
#include <math.h>

double cw_root(cw_root_function function, void *state, double low, double high, double relative) {
    /* a and b are on either side; c was an end before them. */
    double a = high, b = low, c, part = 0.5;
    double at_a = function(a, state), at_b = function(b, state), at_c;
    if (at_a == 0) return a;
    if (at_b == 0) return b;
    if (!(at_a < 0) == !(at_b < 0) || isnan(at_a) || isnan(at_b)) return NAN;
    for (int i = 0; i < 200; i++) {
        double x = a + part * (b - a), at_x = function(x, state);
        if (isnan(at_x)) return NAN;
        if ((at_x < 0) == (at_a < 0)) {
            c = a;
            at_c = at_a;
        } else {
            c = b;
            at_c = at_b;
            b = a;
            at_b = at_a;
        }
        a = x;
        at_a = at_x;
        double best = fabs(at_b) < fabs(at_a) ? b : a;
        double least = (fmax(relative, 2 * DBL_EPSILON) * fabs(best) + DBL_MIN) / fabs(b - a);
        if (least > 0.5 || at_a == 0) return best;
        double xi = (a - b) / (c - b), phi = (at_a - at_b) / (at_c - at_b);
        part = 0.5;
        if (phi * phi < xi && (1 - phi) * (1 - phi) < 1 - xi)
            part = at_a / (at_b - at_a) * at_c / (at_b - at_c) +
                   (c - a) / (b - a) * at_a / (at_c - at_a) * at_b / (at_c - at_b);
        part = fmin(fmax(part, least), 1 - least);
    }
    return fabs(at_b) < fabs(at_a) ? b : a;
}
