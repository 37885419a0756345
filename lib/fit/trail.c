#include "fit/trail.h"

#include <stdlib.h>
#include <string.h>

enum cw_status cw_trail_begin(struct cw_trail *t, size_t points, size_t width) {
    size_t rows = points * CW_TRAIL_ROWS * width;
    if (points > t->room) {
        free(t->point);
        t->point = malloc(points * sizeof *t->point);
        t->room = t->point ? points : 0;
    }
    if (rows > t->rows_room) {
        free(t->row);
        t->row = malloc(rows * sizeof *t->row);
        t->rows_room = t->row ? rows : 0;
    }
    if (points > t->room || rows > t->rows_room) return CW_E_MEMORY;
    t->n = 0;
    t->width = width;
    for (size_t i = 0; i < points; i++) {
        t->point[i].n_seen = 0;
        t->point[i].goes_on = false;
    }
    return CW_OK;
}

void cw_trail_free(struct cw_trail *t) {
    free(t->point);
    free(t->row);
    *t = (struct cw_trail){0};
}

void cw_trail_look(struct cw_trail *t, double p[CW_STATES][CW_STATES_SIDE], const double *mean) {
    struct cw_trail_point *point = &t->point[t->n];
    double *shift = point->seen[point->n_seen].p_shift;
    memcpy(shift, p[CW_STATE_SHIFT], sizeof point->seen->p_shift);
    memcpy(cw_trail_row(t, t->n, CW_TRAIL_SHIFT), mean + CW_STATE_SHIFT * t->width,
           t->width * sizeof *mean);
}

void cw_trail_see(struct cw_trail *t, enum cw_kind kind, const double z[CW_STATES],
                  const double pz[CW_STATES_SIDE], double innovation, const double *row) {
    struct cw_trail_point *point = &t->point[t->n];
    struct cw_trail_seen *seen = &point->seen[point->n_seen];
    seen->kind = kind;
    seen->innovation = innovation;
    memcpy(seen->z, z, sizeof seen->z);
    memcpy(seen->pz, pz, sizeof seen->pz);
    memcpy(cw_trail_row(t, t->n, point->n_seen++), row, t->width * sizeof *row);
}

void cw_trail_step(struct cw_trail *t, const struct cw_markov_step *step, size_t at,
                   double p[CW_STATES][CW_STATES_SIDE], const double *mean) {
    struct cw_trail_point *point = &t->point[t->n];
    point->goes_on = true;
    point->at = at;
    point->step = *step;
    memcpy(point->p, p, sizeof point->p);
    memcpy(cw_trail_row(t, t->n++, CW_SEEN_KINDS), mean, CW_STATES * t->width * sizeof *mean);
}
