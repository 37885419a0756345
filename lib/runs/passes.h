/* Passes: where recordings, or one recording again and again, go over the same ground, whichever
 * way.
 *
 * Each recording is walked in even steps of its own distance. A step on ground where nobody has
 * been lays a node of a line there; a step near a line that goes the same way, or just the other
 * way, is placed on it. So every step has a place on a line, and steps of several passes at one
 * place can be held against each other. Nodes are looked up by a grid, so the cost grows with the
 * distance ridden and not with its square. */
#ifndef CW_RUNS_PASSES_H
#define CW_RUNS_PASSES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "motion/motion.h"
#include "recording/recording.h"

/* Length of a step, and so about the distance of nodes. */
#define CW_STEP_M 8.0

/* Of one recording, what lies so far above each other is not the same ground, but the arms of
 * hairpins that go the same way: heights drift by less. Of two recordings nobody knows: an
 * altimeter may be set anyhow. */
#define CW_ABOVE_M 30.0

/* Where a step ends: on the line that begins with node `line`, at node `at` and its part on to the
 * next. way: 1 along the line, -1 against it, 0 on no line (then the rest means nothing). */
struct cw_step_place {
    double at;
    unsigned line;
    signed char way;
};

/* Step k of a recording ends where its distance is first_m + k * CW_STEP_M, between the samples
 * before[k] and before[k] + 1. Owned. */
struct cw_walk {
    size_t n;
    double first_m;
    unsigned *before;
    struct cw_step_place *place;
};

struct cw_passes {
    size_t n_nodes; /* of all lines */
    size_t n_walks;
    struct cw_walk *walks; /* one a recording; n is 0 without positions or motion */
};

/* Recordings are walked in their order; n of 0 in a motion: none could be made. Free with
 * cw_passes_free, also after an error. */
enum cw_status cw_passes_make(const struct cw_recording *recordings,
                              const struct cw_motion *motions, size_t n, struct cw_passes *passes,
                              struct cw_error *error);
void cw_passes_free(struct cw_passes *passes);

/* Of a motion's column, its value where step k ends: straight between the samples about it. */
double cw_walk_value(const struct cw_walk *walk, const struct cw_motion *motion,
                     const double *column, size_t k);

/* Whether steps k - 1 and k of a walk are neighbours on one line, one pass over it: *node is where
 * the way between them lies, from that node to the next. */
bool cw_walk_piece(const struct cw_walk *walk, size_t k, size_t *node);

#endif
