/* A run as it is whitened, stretch by stretch (fit/stretch.h). Between them the states' answers to
 * all of the run's columns are kept. */
#ifndef CW_FIT_WHITENER_H
#define CW_FIT_WHITENER_H

#include <stddef.h>

#include "fit/stretch.h"
#include "fit/trail.h"
#include "fit/whiten.h"

struct cw_whitener {
    size_t capacity; /* columns of a run, at most: what states are apart below */
    size_t touched;  /* coefficients of the run up to here were touched; the rest are zero below */
    double *past;    /* the mean at the stretch's start, to each column of the whole run */
    double *shared;  /* what a carrier has in common with each column of the run */
    double *answer;  /* room for the states' answers at a piece's end */
    struct cw_stretch stretch;
    /* Of the way back. */
    struct cw_trail trail;
    double *way_back;
    size_t way_back_room;
};

/* The run's column that column a is part of in a stretch that touches `tail` coefficients from low
 * on; carriers are part of none. */
static inline size_t cw_whitener_column(const struct cw_normal *normal, size_t low, size_t tail,
                                        size_t a) {
    return a < tail ? low - normal->first_node + a : normal->n - CW_TAIL + a - tail;
}

/* What the unknowns for the states at a piece's end are seen by: past at its end, less these
 * unknowns, with the states' covariance there. */
struct cw_whitener_end {
    double *answer;                      /* CW_STATES x the piece's columns; room for it */
    double factor[CW_STATES][CW_STATES]; /* of the covariance: lower triangle, by Cholesky */
    double log_det;                      /* of the covariance; NaN where that has no inverse */
};
/* past: each state's numbers stride apart; p: the states' covariance. In end, answer has room for
 * CW_STATES x normal->n numbers. */
void cw_whitener_end(const double *past, size_t stride, const double p[CW_STATES][CW_STATES_SIDE],
                     const struct cw_linear *linear, const struct cw_normal *normal,
                     struct cw_whitener_end *end);

#endif
