/* Where a function of one number is 0. */
#ifndef CW_STATS_ROOT_H
#define CW_STATS_ROOT_H

typedef double (*cw_root_function)(double x, void *state);

/* The x between low and high at which function is 0, to `relative` of x (0: to the last digits).
 * Its signs at low and high must differ. Bisection, with inverse quadratic interpolation where that
 * is safe: Chandrupatla 1997, Adv. Eng. Softw. 28:145. NaN where the signs do not differ, and where
 * function gives NaN. */
double cw_root(cw_root_function function, void *state, double low, double high, double relative);

#endif
