/* Where a coast begins or ends, to the sample.
 *
 * Along a coast the head, with what a coast loses added back, goes on straight; from where the
 * brakes bite or the legs push it bends. The modes (runs/modes.h) say about where; here the bend is
 * put where two straight lines that meet fit best, and of the places that fit nearly as well the
 * one farthest inside the coast is taken: a bend that is seen clearly costs the run next to
 * nothing, one that is not costs it some seconds. */
#ifndef CW_RUNS_EDGE_H
#define CW_RUNS_EDGE_H

#include <stdbool.h>
#include <stddef.h>

struct cw_edge {
    size_t n; /* samples of the recording */
    const double *time_s, *speed_ms, *distance_m;
    const double *even_m; /* the head, with a coast's losses added back */
    size_t at;            /* the coast's last sample so far, or its first one */
    size_t inner;         /* how far the coast reaches the other way */
    size_t outer;         /* the last sample beyond it that is of the same kind */
    bool end;             /* an end; else a start */
    bool braking;         /* beyond it; else pedalling */
    double reach_s;       /* how far from `at` the bend may be */
};

/* The sample that the coast ends or begins with, between the two that the bend may be off, or
 * *found false where there is no such bend. */
size_t cw_edge_place(const struct cw_edge *edge, bool *found);

#endif
