/* A stretch of a run, filtered: the columns of the data and of the unknowns that act in it, and the
 * sums of products of what comes out of them.
 *
 * Columns are filtered for the profile's coefficients that the stretch touches, for the tail, and
 * for a unit of each state at the stretch's start (a carrier). A coefficient that the run has left
 * behind acts on only through what it did to the states, so at the stretch's end its part is put
 * together from the carriers' (fit/whiten.h); it need not be filtered on to the run's end. */
#ifndef CW_FIT_STRETCH_H
#define CW_FIT_STRETCH_H

#include <stddef.h>

#include "fit/linear.h"
#include "fit/markov.h"
#include "fit/noise.h"
#include "fit/trail.h"
#include "fit/whiten.h"

enum {
    CW_STRETCH_BATCH = 12 /* rows multiplied out at once: each product is fetched once for them */
};

struct cw_stretch {
    size_t low, tail; /* the first coefficient touched, and how many are */
    size_t n, width;  /* columns; and, to go by fours, some of zeros behind them */
    double *mean;     /* of each state in answer to each column, `width` apart */
    double *rows;     /* whitened rows waiting to be multiplied out, `width` apart */
    double *product;  /* of the columns, whole once filtered, `width` apart */
    size_t waiting;   /* rows that wait */
    double p[CW_STATES][CW_STATES_SIDE]; /* the states' covariance: it passes from one stretch to
                                          * the next */
    double innovations;                  /* the product of the variances of those that wait */
    double log_det;                      /* sum of log innovation variances */
    size_t n_observed;
    struct cw_markov_paces paces;
    struct cw_trail *trail; /* where not NULL, what was done is written down there, and nothing is
                             * multiplied out */
};

/* For runs of up to n_nodes coefficients. Free with cw_stretch_free. */
enum cw_status cw_stretch_alloc(size_t n_nodes, struct cw_stretch *stretch);
void cw_stretch_free(struct cw_stretch *stretch);

/* The points from `from` on and before `most` that touch no more coefficients than a stretch may
 * (or just the one point): returns the one after them, and begins the stretch's columns, all but p.
 */
size_t cw_stretch_begin(struct cw_stretch *stretch, const struct cw_linear *linear, size_t from,
                        size_t most);

/* Filters them. */
void cw_stretch_filter(struct cw_stretch *stretch, const struct cw_linear *linear,
                       const struct cw_noise *noise, size_t from, size_t end);

#endif
