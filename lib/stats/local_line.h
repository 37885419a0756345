/* A straight line through the points about a place. */
#ifndef CW_STATS_LOCAL_LINE_H
#define CW_STATS_LOCAL_LINE_H

#include <stddef.h>

/* The value at `at` of the line through y against the points' numbers by least squares with weights
 * (1 - u2)2, u being the distance from `at` over reach (Cleveland & Devlin 1988, J. Am. Stat.
 * Assoc. 83:596, with another weight). The points [first, last] lie within reach of it. Where they
 * tell no line, their mean. */
double cw_local_line(const double *y, size_t first, size_t last, double at, double reach);

#endif
