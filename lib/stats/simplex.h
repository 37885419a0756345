/* The least value of a function of a few numbers, without derivatives. */
#ifndef CW_STATS_SIMPLEX_H
#define CW_STATS_SIMPLEX_H

#include <stddef.h>

enum { CW_SIMPLEX_MOST = 8 };

/* What is not a number counts as endless. */
typedef double (*cw_simplex_function)(const double *x, const void *state);

/* Moves x (n numbers, 1 to CW_SIMPLEX_MOST) to where the function is least, by the simplex of
 * Nelder & Mead 1965 (Comput. J. 7:308) begun from x and a step along each axis, until its corners'
 * rms distance from their middle is below size or it was moved `most` times. Returns the value
 * there. */
double cw_simplex_minimise(cw_simplex_function function, const void *state, size_t n, double *x,
                           double step, double size, int most);

#endif
