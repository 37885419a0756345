/* Coasting, pedalling or braking: every sample's mode, by the best division of the ride.
 *
 * The ride is cut into pieces, each of one mode, so that the energy head of each piece is explained
 * by one line:
 *   coast     e = e0 - R(s) - CdA K(s)
 *   pedalling e = e0 - R(s) - CdA0 K(s) + (P / m g) t
 *   braking   e = e0 - R(s) - CdA0 K(s) - f s
 * where R is the loss to rolling and bearings, K that to the air for a CdA of 1 m2 and CdA0 what
 * this recording's coasts show in the middle (a first division with a wide guess tells). The cost
 * of a piece is half its weighted sum of squares, with normal priors on CdA, P and f inside their
 * bounds, what cadence and power say against the mode, and a fixed cost a piece; the division of
 * least total cost is found by dynamic programming. So an end is placed to a second or two where
 * heights are good, and where they are not, longer stretches decide and odd seconds do nothing. */
#ifndef CW_RUNS_MODES_H
#define CW_RUNS_MODES_H

#include "base/error.h"
#include "motion/motion.h"
#include "recording/recording.h"
#include "runs/balance.h"
#include "runs/options.h"
#include "runs/pedalling.h"

enum cw_mode { CW_MODE_COAST, CW_MODE_PEDAL, CW_MODE_BRAKE };
#define CW_MODES 3

/* Fills mode[n]. Standing still and samples without height or speed are CW_MODE_COAST: nothing
 * there speaks against it. */
enum cw_status cw_modes_find(const struct cw_recording *recording, const struct cw_motion *motion,
                             const struct cw_balance *balance, const enum cw_pedalling *pedalling,
                             const struct cw_runs_options *options, enum cw_mode *mode,
                             struct cw_error *error);

#endif
