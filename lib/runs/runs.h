/* Finding runs: the descents and coast-downs of recordings, and why others were turned down.
 *
 * A run is a stretch that coasts, by cadence and power where they are recorded and by the energy
 * balance throughout (runs/modes.h). It starts where pedalling or braking stops, or at release from
 * standstill, and ends at a stop, a brake, pedalling, a turn back, or a gap; where energy tells
 * that, it is placed to the sample (runs/edge.h), and a run keeps 4 to 5 s away from a standstill
 * that it sets off from without a cadence to go by, for the few strokes of getting going look like
 * a steeper slope. A dip and a rise on the way are part of it as long as it rolls.
 *
 * Passes over the same ground, in one recording or several, are told by each other (runs/passes.h,
 * relief.h, fellows.h): the ground's slope comes from all of them, and where at least three coast
 * the same way, from how they coast, so that poor heights cut no run in pieces.
 *
 * A hole of up to 30 s in a coast is bridged where way, time and energy on both sides agree with
 * coasting; nothing is put in its place. One of up to 60 s leaves one run, turned down for the gap.
 *
 * What is worth being a run is what tells CdA or Crr (runs/worth.h), on a slope or on the level.
 * Listed as turned down: coasts that come near that, or drop a good deal; and descents that are
 * long and deep enough but were pedalled or braked. What is less is slight: kept apart and not
 * numbered. */
#ifndef CW_RUNS_RUNS_H
#define CW_RUNS_RUNS_H

#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "motion/motion.h"
#include "recording/recording.h"
#include "runs/options.h"
#include "runs/run.h"

CW_PUBLIC_BEGIN

/* Finds the runs of n recordings and numbers them in time order; a recording whose motion could not
 * be made (n is 0) has none. options may be NULL. Free with cw_runs_free, also after an error. */
enum cw_status cw_runs_find(const struct cw_recording *recordings, const struct cw_motion *motions,
                            size_t n, const struct cw_runs_options *options, struct cw_runs *runs,
                            struct cw_error *error);

CW_PUBLIC_END

#endif
