/* Which runs went down the same road: by their lines on the ground. */
#ifndef CW_ROAD_SHARED_H
#define CW_ROAD_SHARED_H

#include "base/error.h"
#include "base/public.h"
#include "motion/motion.h"
#include "recording/recording.h"
#include "runs/runs.h"

CW_PUBLIC_BEGIN

/* Numbers the roads of the runs kept (cw_run.road, cw_runs.n_roads) and their descents
 * (cw_run.descent, cw_runs.n_descents: a run goes on the descent of the last one in its recording
 * where that ended no more than two minutes before and none of its pieces was on the same road),
 * anew each time it is called: whoever turns runs down or takes them back calls it again. Two runs
 * share a road if at least 70 % of the shorter's line lies within 25 m of the other's and goes the
 * same way, or 20 % lies within 15 m of it and goes the opposite way (who coasts down either side
 * of a dip covers little of the same stretch twice) and one goes up where the other goes down, or
 * both are level: the arms of a hairpin are two roads; and so do runs that share it with a third. A
 * run that goes against the first kept run of its road is reversed (cw_run.reversed). Runs turned
 * down get the number of a road that kept runs are on, or CW_ROAD_NONE. Runs without positions are
 * taken to be on one road of their own. */
enum cw_status cw_roads_number(const struct cw_recording *recordings,
                               const struct cw_motion *motions, struct cw_runs *runs,
                               struct cw_error *error);

/* Turns down, as off the road, every run that is not on road 0, nor on one that three quarters of
 * the descents over road 0 go down as well, in pieces, where that road carries at least 3
 * runs and more than any other. For an outing: it is one road with hours of other riding around it,
 * and its `order` lists the test runs only, so lone coasts elsewhere don't have to be skipped by
 * hand. Not for an unknown recording, which may hold runs on several roads that are all worth
 * showing. */
enum cw_status cw_roads_keep_one(struct cw_runs *runs, struct cw_error *error);

CW_PUBLIC_END

#endif
