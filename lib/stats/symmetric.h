/* Symmetric matrices: Cholesky's factor and what it solves, and the principal axes. All are n x n,
 * row by row, and the caller's. */
#ifndef CW_STATS_SYMMETRIC_H
#define CW_STATS_SYMMETRIC_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Puts in the lower triangle of a (all that is read of it) the L of a = L L'. False where a is not
 * positive definite, a number is not finite among them; a is then of no use any more. */
bool cw_cholesky_factor(size_t n, double *a);
/* b = L^-1 b for the m columns of b, n x m row by row, from what cw_cholesky_factor left in a. */
void cw_cholesky_whiten(size_t n, const double *a, size_t m, double *b);
/* b = a^-1 b, n numbers, from the same. */
void cw_cholesky_solve(size_t n, const double *a, double *b);
/* a^-1, whole, in the place of a factor. */
void cw_cholesky_invert(size_t n, double *a);
/* Both: false as above. */
bool cw_cholesky_inverse(size_t n, double *a);

/* a = sum over k of value[k] axis_k axis_k', axis_k being the k-th column of axes (n x n), in no
 * particular order; a is used up. By Householder's reduction and QR steps (GSL). CW_E_NUMERIC where
 * a number is not finite, CW_E_MEMORY. */
enum cw_status cw_symmetric_axes(size_t n, double *a, double *value, double *axes,
                                 struct cw_error *error);

#endif
