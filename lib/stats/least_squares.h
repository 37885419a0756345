/* Linear least squares, ordinary and weighted, that says when it has no answer. */
#ifndef CW_STATS_LEAST_SQUARES_H
#define CW_STATS_LEAST_SQUARES_H

#include <stddef.h>

#include "base/error.h"

/* Above this condition number (of the design with its columns balanced) the unknowns are held
 * not to be told apart. Coefficients carry a relative error of about condition x 1e-16, so those
 * given have at least some four true digits; a column that repeats another comes out at 1e15 or
 * more. It guards arithmetic alone: whether noise lets the unknowns be told apart is for the
 * covariance to say. */
#define CW_LEAST_SQUARES_CONDITION_MAX 1e12

struct cw_least_squares {
    size_t n;            /* observations */
    size_t p;            /* unknowns */
    double *coefficient; /* p, owned */
    double *covariance;  /* p x p, row by row, owned */
    double chi_square;   /* sum of weighted squared residuals; plain squares where unweighted */
    double df;           /* n - p */
    double residual_sd;  /* sqrt(chi_square / df); NaN where df is 0 */
    double condition;    /* largest over smallest singular value of the balanced design */
};

/* Finds b that makes sum_i w_i (y_i - sum_j X_ij b_j)^2 least, by singular values of the design
 * with its rows weighted and its columns balanced (Golub & Van Loan, Matrix Computations, 4th
 * ed., section 5.5), which does not square the condition number as normal equations do.
 *
 * design: n x p, row by row, in whatever units; a constant is a column of ones. response: n.
 * weight: n values above 0, the reciprocals of the responses' variances, or NULL.
 *
 * The covariance is (X'WX)^-1 where weights are given, the variances being taken as known
 * (multiply by residual_sd^2 where only their ratios are); without weights it is
 * residual_sd^2 (X'X)^-1, and NaN where n = p, when nothing is left to judge the scatter by.
 *
 * CW_OK; CW_NOT_IDENTIFIABLE: condition is set and coefficients, covariance, chi_square and
 * residual_sd are NaN; CW_E_ARGUMENT: n < p, p = 0, a value that is not finite, a weight that is
 * not above 0; CW_E_NUMERIC: numbers so large or small that the calculation leaves the range of
 * double; CW_E_MEMORY. *fit is always set: on failure it owns nothing. Free it with
 * cw_least_squares_free. Residuals of 0 are fine and give a residual_sd of 0 or of rounding size.
 */
enum cw_status cw_least_squares_fit(size_t n, size_t p, const double *design,
                                    const double *response, const double *weight,
                                    struct cw_least_squares *fit, struct cw_error *error);

/* Frees what fit owns and empties it; may be called again. */
void cw_least_squares_free(struct cw_least_squares *fit);

#endif
