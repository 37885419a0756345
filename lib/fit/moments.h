/* Second moments of unknowns that were eliminated, on the way back.
 *
 * Eliminating all unknowns u of a symmetric matrix A, data last, leaves f = log det + what is left
 * of A[data][data]. It answers to A by the unknowns' second moments, E u u' with 1 for the data:
 * their covariance, the inverse, and the product of what they come out as. Those are had from the
 * eliminated rows, last to first (Takahashi, Fagan & Chin 1973): of row p,
 *
 *     M[p][j] = -sum of A[p][k] M[k][j] / A[p][p], over k > p
 *     M[p][p] = (1 - sum of A[p][k] M[k][p]) / A[p][p]. */
#ifndef CW_FIT_MOMENTS_H
#define CW_FIT_MOMENTS_H

#include <stddef.h>

#include "fit/equations.h"

/* Moments of unknown p of n, from its eliminated row and those of the others; those of unknowns
 * that went before it, and its own, are 0 as yet. moment: n x n, whole. room: n numbers. */
void cw_moments_add(const double *row, size_t p, size_t n, double *moment, double *room);

/* The same for the first of them, eliminated one after the other; rows as wide as the moments.
 * room: 2 n numbers. */
void cw_moments_add_all(const struct cw_equations *rows, size_t count, double *moment,
                        double *room);

#endif
