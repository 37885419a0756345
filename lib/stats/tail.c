#include "stats/tail.h"

#include <float.h>
#include <math.h>

double cw_tail_inverse(double (*tail)(double x, double df), double df, double chance) {
    double low = 0, high = 1;
    while (tail(high, df) > chance && high < DBL_MAX / 4) {
        low = high;
        high *= 2;
    }
    while (high - low > 2 * DBL_EPSILON * high) {
        double middle = (low + high) / 2;
        if (middle <= low || middle >= high) break;
        if (tail(middle, df) > chance)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}
