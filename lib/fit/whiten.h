/* Whitening of a run: its observations and their dependence on every unknown, freed of correlation
 * by a Kalman filter in time linear in the samples, and summed up as the run's normal equations
 * (fit/README.md: why, and after whom). */
#ifndef CW_FIT_WHITEN_H
#define CW_FIT_WHITEN_H

#include <stddef.h>

#include "fit/linear.h"
#include "fit/markov.h"
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

/* The normal equations of a run, or of a piece of it: its points from `from` up to `end`, with the
 * steps on from them. The unknowns are n_nodes profile coefficients from first_node on; of a piece
 * that is not the run's first the states where it begins, and of one that is not its last the
 * states at `end` (CW_STATES each, see below); then the tail.
 *
 * Given the states where a run is cut, what comes after has nothing to do with what was before: so
 * a run's equations are its pieces' added up and the states eliminated. As unknowns they are
 * corrections too: the energy is what E is beyond the basis motion's own residual there. */
struct cw_normal {
    size_t first_node, n_nodes;
    size_t from, end;
    size_t n;        /* cw_normal_n */
    double *product; /* n x n, row-major, upper triangle */
    double log_det;  /* sum of log innovation variances */
    size_t n_observed;
};

/* Where the unknowns begin: states where the piece begins, where it ends, and the tail. */
static inline size_t cw_normal_begin(const struct cw_normal *normal) {
    return normal->n_nodes;
}
static inline size_t cw_normal_end(const struct cw_normal *normal) {
    return normal->n_nodes + (normal->from ? CW_STATES : 0);
}
static inline size_t cw_normal_tail(const struct cw_normal *normal,
                                    const struct cw_linear *linear) {
    return cw_normal_end(normal) + (normal->end < linear->n ? CW_STATES : 0);
}
static inline size_t cw_normal_n(const struct cw_normal *normal, const struct cw_linear *linear) {
    return cw_normal_tail(normal, linear) + CW_TAIL;
}

struct cw_whitener; /* a workspace */

/* For runs of up to n_nodes coefficients; NULL if memory runs out. Free
 * with cw_whitener_free. */
struct cw_whitener *cw_whitener_alloc(size_t n_nodes);
void cw_whitener_free(struct cw_whitener *whitener);

struct cw_places; /* fit/places.h */

/* Fills normal, of which first_node, n_nodes, from and end are given, and product has room. The
 * data column is observation minus basis motion, so that the unknowns are corrections to what the
 * run is linearised about. places: to keep there what the way back needs, in place of what they
 * hold; NULL: nothing is kept, and it does not fail. CW_E_MEMORY. */
enum cw_status cw_whiten(struct cw_whitener *whitener, const struct cw_linear *linear,
                         const struct cw_noise *noise, struct cw_normal *normal,
                         struct cw_places *places);

/* A run linearised at a lag a little larger: what of it that changes. */
struct cw_later {
    const struct cw_linear *linear;
    double by_s;
};

/* How log_det + the sum of moment times product, element by element over the whole matrices,
 * answers to the noise: added to slope, as the derivative by each parameter's logarithm (0 for
 * those that act on a profile alone), and to *by_lag, by a second of the lag. moment: n x n, whole,
 * symmetric; normal, whose product is not needed, and places as cw_whiten left them. This is the
 * exact derivative, by the way back through the filter; it takes as long as some two whitenings.
 * CW_E_MEMORY. */
enum cw_status cw_whiten_slope(struct cw_whitener *whitener, const struct cw_linear *linear,
                               const struct cw_noise *noise, const struct cw_normal *normal,
                               const struct cw_places *places, const struct cw_later *later,
                               const double *moment, double slope[CW_NOISE_PARAMETERS],
                               double *by_lag);

#endif
