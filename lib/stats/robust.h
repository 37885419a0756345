/* Order statistics that the room uses against outliers. */
#ifndef CW_STATS_ROBUST_H
#define CW_STATS_ROBUST_H

#include <stddef.h>

/* Median of n values, none NaN; puts them in another order. NaN for n = 0. */
double cw_median(double *values, size_t n);
/* The value below which the part (0..1) of n values lies; likewise. NaN for n = 0. */
double cw_quantile(double *values, size_t n, double part);

#endif
