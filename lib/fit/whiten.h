/* Whitening of a run: its observations and their dependence on every unknown, freed of correlation
 * in time linear in the samples.
 *
 * All disturbances are Markov in time, so a Kalman filter over the state
 *   (ds, E, gust, height drift, position wander)
 * turns each observation into its innovation, independent of all earlier ones. Filtered alongside
 * are the responses to a unit of each unknown; the filter is linear, so the innovation for any
 * values of the unknowns is the sum. What is left for least squares are the sums of products of
 * whitened columns: the run's own normal equations. (Harvey, Forecasting, Structural Time Series
 * Models and the Kalman Filter, 1989, section 3.4.2: GLS by filtering the regressors.) */
#ifndef CW_FIT_WHITEN_H
#define CW_FIT_WHITEN_H

#include <stddef.h>

#include "fit/linear.h"
#include "fit/noise.h"

/* The unknowns of a run that follow those of the profile. The first CW_OWN of them are the run's
 * own nuisances and are eliminated with it. */
enum cw_tail {
    CW_TAIL_ENERGY, /* energy at the start, m */
    CW_TAIL_SHIFT,  /* place at the start, m */
    CW_TAIL_OFFSET, /* offset of the recorded heights, m */
    CW_OWN,
    CW_TAIL_CRR = CW_OWN,
    CW_TAIL_CDA,
    CW_TAIL_SCALE, /* relative error of the recorded speeds */
    CW_TAIL_DATA,  /* the observations */
    CW_TAIL
};

/* The normal equations of a run: n_nodes profile coefficients from first_node on, then the tail. */
struct cw_normal {
    size_t first_node, n_nodes;
    size_t n;        /* n_nodes + CW_TAIL */
    double *product; /* n x n, row-major, upper triangle */
    double log_det;  /* sum of log innovation variances */
    size_t n_observed;
};

struct cw_whitener; /* a workspace */

/* For runs of up to n_nodes coefficients; NULL if memory runs out. Free
 * with cw_whitener_free. */
struct cw_whitener *cw_whitener_alloc(size_t n_nodes);
void cw_whitener_free(struct cw_whitener *whitener);

/* Fills normal (whose product has room for (n_nodes + CW_TAIL)^2 numbers). The data column is
 * observation minus reference, so that the unknowns are corrections to the reference. */
void cw_whiten(struct cw_whitener *whitener, const struct cw_linear *linear,
               const struct cw_noise *noise, struct cw_normal *normal);

#endif
