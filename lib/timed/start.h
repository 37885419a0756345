/* Runs that all began standing at one mark: their places are counted from there. */
#ifndef CW_TIMED_START_H
#define CW_TIMED_START_H

#include <stdbool.h>
#include <stddef.h>

#include "base/warning.h"
#include "road/ridden.h"
#include "road/road.h"

/* How well riders stand at the mark that they start from, 1 sd (common practice, no source). */
#define CW_START_SD_M 0.2

/* When a bicycle last stood before its run, and where, by positions. */
struct cw_start {
    double time_s, s_m;
};

/* Puts the places of the runs members[0..n) (along[members[k]].s_m) so that all began at one and
 * the same place, which is the mean of where positions have it: what is left of the differences
 * between them is the way by the wheel. Sets starts[0..n).
 *
 * False, places as they were, where a run does not show its bicycle standing before it rolls, which
 * is warned of, or where speeds are made of positions and know no more than these. */
bool cw_starts_tie(const struct cw_ridden *input, const size_t *members, size_t n,
                   struct cw_along *along, struct cw_start *starts, struct cw_warnings *warnings);

#endif
