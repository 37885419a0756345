/* Functions of mathematics as exact as other systems have them. The C library that WASI comes with
 * is off in the last bit of one result in seven of some of these; a search for a minimum makes of
 * such a bit a difference in the seventh digit of what it finds. Only compiled for WASI. */
#include <math.h>

/* C. Borges, "An Improved Algorithm for hypot(a,b)", arXiv:1904.09481 (2019), the corrected form
 * without fused operations. */
static double of_sides(double long_side, double short_side) {
    double h = sqrt(long_side * long_side + short_side * short_side), first, second, away;
    if (h <= 2 * short_side) {
        away = h - short_side;
        first = long_side * (2 * away - long_side);
        second = (away - 2 * (long_side - short_side)) * away;
    } else {
        away = h - long_side;
        first = 2 * away * (long_side - 2 * short_side);
        second = (4 * away - short_side) * short_side + away * away;
    }
    return h - (first + second) / (2 * h);
}

double hypot(double x, double y) {
    const double large = 0x1p511, small = 0x1p-459, scale = 0x1p-600, ulp = 0x1p-53;
    double a = fabs(x), b = fabs(y);
    if (isinf(a) || isinf(b)) return INFINITY;
    if (isnan(a) || isnan(b)) return NAN;
    double most = a > b ? a : b, least = a > b ? b : a;
    if (least <= most * ulp) return most + least;
    if (most > large) return of_sides(most * scale, least * scale) / scale;
    if (least < small) return of_sides(most / scale, least / scale) * scale;
    return of_sides(most, least);
}

/* Halved before they are added, which loses nothing. */
double cosh(double x) {
    double a = fabs(x), t = expm1(a), grown = exp(a);
    if (a < 0.34) return 1 + t * t / (2 * (1 + t));
    if (a < 22) return 0.5 * grown + 0.5 / grown;
    return a < 709 ? 0.5 * grown : exp(0.5 * a) * (0.5 * exp(0.5 * a));
}

/* By way of numbers twice as long, which cost time: none of these stands in a long loop. */
double sin(double x) {
    return (double)sinl(x);
}

double cos(double x) {
    return (double)cosl(x);
}

double atan2(double y, double x) {
    return (double)atan2l(y, x);
}
