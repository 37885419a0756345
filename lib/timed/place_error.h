/* How well a run's place along the road is known, and so when it was at a gate.
 *
 * The place is integrated speed, tied to the road's line by one shift a run. Its error has two
 * parts:
 *
 * - The shift is wrong by the run's mean wander along the road. That moves all crossings of the run
 *   by the same way, so between two gates passed at one speed it cancels; at speeds v1 and v2,
 *   shift (1/v2 - 1/v1) is left. The run itself cannot show this part, for its own positions are
 *   all it is tied to. But a receiver wanders along the road much as it wanders across it, and
 *   across it the other runs show it: the sd of the runs' mean distance from the line they share,
 *   known as well as that many runs allow. Different paths across the road are in it, too, so it
 *   is rather too large.
 * - Integrated speed strays from the truth as it goes: a random walk, pinned down so that its mean
 *   over the run is 0. With a device's speeds its rate is that of their white error; with speeds
 *   from positions it is that of the positions' own wander within a run, again as seen across the
 *   road. A device's count of distance does not stray; it has a white error.
 *
 * Where all runs began standing at one mark (timed/start.h) the shift is how well a rider stands at
 * it, and the walk begins there, at 0.
 *
 * Errors of the line itself, and of the scale of speed, are the same for all runs and not here. */
#ifndef CW_TIMED_PLACE_ERROR_H
#define CW_TIMED_PLACE_ERROR_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "fit/prepare.h"
#include "road/road.h"
#include "timed/start.h"

/* Wander of the runs of a road, as seen across it. */
struct cw_wander {
    double shift_sd_m;  /* of a run's mean place */
    double shift_df;    /* how well that is known; infinite where it is not from a scatter */
    double within_sd_m; /* about the run's mean, over the run */
};

/* From the runs members[0..n) (indices into input->runs) and their place on the road. With one run
 * nothing is seen across the line, which is its own: the sd of its tie stands in, the least that
 * the wander can be. All NaN for a road without a line. */
enum cw_status cw_wander_make(const struct cw_ridden *input, const struct cw_road *road,
                              const struct cw_along *along, const size_t *members, size_t n,
                              struct cw_wander *wander, struct cw_error *error);

/* One run's. */
struct cw_place_error {
    double shift_m2, shift_df;
    double walk_m2ps; /* variance that the walk gains a second */
    double white_m2;
    double start_s, duration_s; /* of what was tied to the line */
    bool from_start;            /* the walk begins at start_s; else its mean is 0 */
};

/* start: where the run's place is counted from; NULL where it is tied to the line. */
struct cw_place_error cw_place_error_make(const struct cw_ridden *input, size_t run,
                                          const struct cw_wander *wander,
                                          const struct cw_start *start);
/* Covariance, without the shift, of the errors at two times; m2. The walk W over T seconds has
 * Cov(W(t) - mean, W(u) - mean) = rate T (1/3 + (t^2 + u^2) / (2 T^2) - max(t, u) / T), and from
 * its start Cov(W(t), W(u)) = rate min(t, u). */
double cw_place_error_own(const struct cw_place_error *error, double time1_s, double time2_s);

#endif
