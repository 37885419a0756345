/* Values that scatter more than their own errors explain: setups compared over runs. */
#ifndef CW_STATS_RANDOM_EFFECTS_H
#define CW_STATS_RANDOM_EFFECTS_H

#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

/* The model: y = X b + u + e. e are the values' own errors, of known covariance S; u are the
 * differences between units (runs) that S knows nothing of, independent and of one unknown
 * variance tau2. b are the unknowns: a mean, one value a setup, a drift.
 *
 * On n - p orthonormal contrasts K of y that X cannot reach (K'X = 0), turned to the axes of K'SK
 * with eigenvalues l_i, the model is n - p independent normals z_i of mean 0 and variance l_i +
 * tau2. Everything about tau2 is a sum over them:
 *
 * - Q(tau2) = sum z_i^2 / (l_i + tau2) is, at the true tau2, chi-square with n - p degrees of
 *   freedom.
 * - REML makes sum log(l_i + tau2) + Q(tau2) least over tau2 >= 0, by a search of the whole range
 *   (Patterson & Thompson 1971, Biometrika 58:545: the likelihood of such contrasts).
 * - DerSimonian-Laird equates Q(0) with its expectation (1986, Control. Clin. Trials 7:177):
 *   tau2 = (Q(0) - (n - p)) / sum 1/l_i, or 0.
 * - The interval of tau2 is where Q(tau2) lies between its 2.5 and 97.5 % quantiles (Viechtbauer
 *   2007, Stat. Med. 26:37); both ends are 0 where the values scatter too little for any tau2.
 *
 * b follows by generalised least squares with V = S + tau2 I. Its covariance (X'V^-1 X)^-1 is
 * multiplied by Q(tau2) / (n - p) and Student's t with n - p degrees of freedom taken (Knapp &
 * Hartung 2003, Stat. Med. 22:2693): for equal variances this is the plain t comparison, and what
 * the errors are said to be does not matter. A factor below 1 is kept as it is: on made-up outings
 * of 2 to 6 runs a setup, errors stated at half to twice their size, 95 % intervals then held the
 * truth in 93 to 96 of 100 cases; with the factor kept at 1 or more, in 95 to all 100. */

enum cw_between {
    CW_BETWEEN_REML,
    CW_BETWEEN_DERSIMONIAN_LAIRD,
    CW_BETWEEN_NONE /* tau2 = 0, scale = 1, normal intervals: the errors are believed as they are */
};

/* Borrowed arrays. value in any unit (log of a drag area: none). */
struct cw_effects_data {
    size_t n;                 /* values */
    size_t p;                 /* unknowns, 1 to n - 1 (to n for CW_BETWEEN_NONE) */
    const double *value;      /* n */
    const double *design;     /* X, n x p, row by row */
    const double *covariance; /* S, n x n, symmetric and positive definite, unit of value squared */
    const double *variance;   /* where covariance is NULL: S is diagonal with these n, above 0 */
};

struct cw_random_effects {
    size_t n, p;
    double *coefficient; /* b, p, owned */
    double *covariance;  /* (X'V^-1 X)^-1, p x p, row by row, owned; not yet scaled */
    double scale;        /* Knapp-Hartung's Q(tau2) / (n - p) */
    double df;           /* n - p; INFINITY for CW_BETWEEN_NONE */
    double tau2, tau2_low, tau2_high;
    double q, q_p_value; /* Q(0), and the chance of one as large if there were no tau2 */
    double i2;           /* share of the scatter that is tau2, 0 to 1: tau2 / (tau2 + s2), s2 = */
    /* (n - p) / sum 1/l_i (Higgins & Thompson 2002, Stat. Med. 21:1539) */
    double condition; /* of the whitened, balanced design */
};

/* CW_OK; CW_NOT_IDENTIFIABLE where the columns of X cannot be told apart: condition is set, all
 * else NaN. CW_E_DATA: n <= p, so that nothing is left to judge the scatter by, or values that do
 * not scatter at all beyond rounding (an interval of no width would be a lie). CW_E_ARGUMENT: a
 * value that is not finite, a variance not above 0, a covariance not symmetric (to 1e-9 of the
 * variances) or not positive definite. CW_E_NUMERIC, CW_E_MEMORY. On failure *fit owns nothing;
 * free it with cw_random_effects_free.
 *
 * Variances may differ by a factor of 1e12; where one is below about n x 2e-16 of the largest it is
 * lost in rounding: CW_E_NUMERIC. A value with a thousandth of the others' error rules b while tau2
 * is 0, and is one of n equals where tau2 is far above S.
 * With n - p = 1 tau2 is hardly known: its interval then reaches from 0 to a thousand times z^2. */
enum cw_status cw_random_effects_fit(const struct cw_effects_data *data, enum cw_between between,
                                     struct cw_random_effects *fit, struct cw_error *error);

/* Frees what fit owns and empties it; may be called again. */
void cw_random_effects_free(struct cw_random_effects *fit);

struct cw_contrast {
    struct cw_estimate estimate; /* c'b, scaled standard error, 95 % interval */
    double df;
    double t;
    double p_value;        /* two-sided, that c'b is 0 */
    double predicted_low;  /* 95 % interval for the true value of one further unit: */
    double predicted_high; /* the variance of c'b plus tau2, same t (Higgins et al. 2009, J. R. */
                           /* Stat. Soc. A 172:137, with n - p degrees of freedom) */
};

/* One combination c'b of the unknowns, such as (-1, 1, 0) for the second less the first; weight: p.
 * All of it is NaN for an unidentifiable fit, t and p_value for a c of zeros. */
void cw_random_effects_contrast(const struct cw_random_effects *fit, const double *weight,
                                struct cw_contrast *contrast);

CW_PUBLIC_END

#endif
