/* Whitening of a run: its observations and their dependence on every unknown, freed of correlation
 * by a Kalman filter in time linear in the samples, and summed up as the run's normal equations
 * (fit/README.md: why, and after whom). */
#ifndef CW_FIT_WHITEN_H
#define CW_FIT_WHITEN_H

#include <stddef.h>

#include "fit/linear.h"
#include "fit/noise.h"
#include "fit/noise_numbers.h"

/* The unknowns of a run that follow those of the profile. The first CW_OWN of them are the run's
 * own nuisances and are eliminated with it. */
enum cw_tail {
    CW_TAIL_ENERGY,   /* energy at the start, m */
    CW_TAIL_SHIFT,    /* place at the start, m */
    CW_TAIL_OFFSET,   /* offset of the recorded heights, m */
    CW_TAIL_OWN_WIND, /* steady wind of this run beyond the mean, m/s */
    CW_OWN,
    CW_TAIL_CRR = CW_OWN,
    CW_TAIL_CDA,
    CW_TAIL_BENDS, /* what bends cost */
    CW_TAIL_WIND,  /* mean wind along the road */
    CW_TAIL_SCALE, /* relative error of the recorded speeds */
    CW_TAIL_DATA,  /* no unknown: the observations */
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
 * observation minus basis motion, so that the unknowns are corrections to what the run is
 * linearised about. */
void cw_whiten(struct cw_whitener *whitener, const struct cw_linear *linear,
               const struct cw_noise *noise, struct cw_normal *normal);

/* How log_det + the sum of moment times product, element by element over the whole matrices,
 * answers to the noise: added to slope, as the derivative by each parameter's logarithm (0 for
 * those that act on a profile alone). moment: n x n, whole, symmetric; first_node, n_nodes and n
 * as normal has them, its product is not needed. This is the exact derivative, by the way back
 * through the filter; it takes as long as some three whitenings. CW_E_MEMORY. */
enum cw_status cw_whiten_slope(struct cw_whitener *whitener, const struct cw_linear *linear,
                               const struct cw_noise *noise, const struct cw_normal *normal,
                               const double *moment, double slope[CW_NOISE_PARAMETERS]);

#endif
