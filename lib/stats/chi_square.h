/* The chi-square distribution: the sum of squares of so many standard normal numbers. */
#ifndef CW_STATS_CHI_SQUARE_H
#define CW_STATS_CHI_SQUARE_H

/* The chance of a sum of squares above x >= 0, and the sum that is not passed with a probability (0
 * to 1); df above 0, up to 1e6. NaN for what is not in range. */
double cw_chi_square_above(double x, double df);
double cw_chi_square_quantile(double probability, double df);

#endif
