/* Which column of a recording the speed comes from, and that column cleaned. */
#ifndef CW_MOTION_SPEED_SOURCE_H
#define CW_MOTION_SPEED_SOURCE_H

#include <stdbool.h>

#include "base/error.h"
#include "motion/speed.h"
#include "recording/recording.h"

/* Fills columns of recording->samples.n:
 * speed_ms: the device's speeds without frozen values (the same value for 5 s and more, in a column
 *   that otherwise moves) and without impossible ones (below 0, above 40 m/s);
 * distance_m: the device's distances without values that have not moved on yet (recorders that
 *   write a new one every few seconds only; standing still for over CW_GAP_S is kept) and without
 *   jumps;
 * distance_restarts: where the count starts anew or jumps (per lap, after a pause).
 * Then says which source to trust: a column must be there for 80 % of the samples and, where there
 * are positions, agree with them over half minutes of riding to within 20 % in the median and not
 * be later than they are by 2 s and more (motion/lateness.h). CW_E_MEMORY. */
enum cw_status cw_speed_source_choose(const struct cw_recording *recording, double *speed_ms,
                                      double *distance_m, bool *distance_restarts,
                                      enum cw_speed_source *source, struct cw_error *error);

#endif
