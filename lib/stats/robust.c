#include "stats/robust.h"

#include <math.h>
#include <stdlib.h>

static int by_value(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double cw_quantile(double *values, size_t n, double part) {
    if (n == 0) return NAN;
    qsort(values, n, sizeof *values, by_value);
    double place = part * (double)(n - 1);
    size_t below = (size_t)place;
    if (below + 1 >= n) return values[n - 1];
    return values[below] + (place - (double)below) * (values[below + 1] - values[below]);
}

double cw_median(double *values, size_t n) {
    return cw_quantile(values, n, 0.5);
}
