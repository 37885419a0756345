/* What a filter did in a stretch, point by point, for the way back (fit/whiten_slope.c). */
#ifndef CW_FIT_TRAIL_H
#define CW_FIT_TRAIL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "fit/markov.h"

/* An observation: z, P z, and the variance of its innovation. */
struct cw_trail_seen {
    enum cw_kind kind;
    double z[CW_STATES], pz[CW_STATES_SIDE], innovation;
    double p_shift[CW_STATES_SIDE]; /* the shift's row of P before it */
};

/* A point: its observations, and the step on from it with the states' covariance before it. */
struct cw_trail_point {
    size_t n_seen;
    struct cw_trail_seen seen[CW_SEEN_KINDS];
    bool goes_on; /* there is a step, from the run's point at */
    size_t at;
    struct cw_markov_step step;
    double p[CW_STATES][CW_STATES_SIDE];
};

enum { CW_TRAIL_SHIFT = CW_SEEN_KINDS + CW_STATES, CW_TRAIL_ROWS };

struct cw_trail {
    size_t n, room;          /* points written down and allocated */
    size_t width, rows_room; /* of a row; numbers allocated */
    struct cw_trail_point *point;
    double *row; /* of each point the whitened rows of its observations, in their order, and from
                  * CW_SEEN_KINDS on the states' answers before its step, and the shift's before its
                  * last observation */
};

/* Begins anew with room for so many points of rows of width numbers; of {0} at first. Free with
 * cw_trail_free. */
enum cw_status cw_trail_begin(struct cw_trail *trail, size_t points, size_t width);
void cw_trail_free(struct cw_trail *trail);

/* An observation of the last point: first with what the states are before it, then with what came
 * of it; a step on from the point, which ends it. */
void cw_trail_look(struct cw_trail *trail, double p[CW_STATES][CW_STATES_SIDE], const double *mean);
void cw_trail_see(struct cw_trail *trail, enum cw_kind kind, const double z[CW_STATES],
                  const double pz[CW_STATES_SIDE], double innovation, const double *row);
void cw_trail_step(struct cw_trail *trail, const struct cw_markov_step *step, size_t at,
                   double p[CW_STATES][CW_STATES_SIDE], const double *mean);

static inline double *cw_trail_row(const struct cw_trail *trail, size_t point, size_t k) {
    return trail->row + (point * CW_TRAIL_ROWS + k) * trail->width;
}

#endif
