/* Which runs went down the same road: by their lines on the ground. */
#ifndef CW_ROAD_SHARED_H
#define CW_ROAD_SHARED_H

#include "base/error.h"
#include "recording/recording.h"
#include "road/motion.h"
#include "road/runs.h"

/* Numbers the roads of all runs (cw_run.road, cw_runs.n_roads). Two runs share a road if at least
 * 70 % of the shorter's line lies within 25 m of the other's and goes the same way; and so do runs
 * that share it with a third. Runs turned down get the number of a road that kept runs are on, or
 * CW_ROAD_NONE. Runs without positions are taken to be on one road of their own. */
enum cw_status cw_shared_roads(const struct cw_recording *recordings,
                               const struct cw_motion *motions, struct cw_runs *runs,
                               struct cw_error *error);

#endif
