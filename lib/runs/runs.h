/* Finding runs: the unpedalled descents of a recording, and why others were turned down.
 *
 * A run is an unbroken stretch that coasts, by cadence and power where they are recorded and by the
 * energy balance throughout (runs/modes.h). It starts where pedalling or braking stops, or at
 * release from standstill, and ends at a stop, a brake, pedalling, a turn back, or a gap. A dip and
 * a rise on the way are part of it as long as it rolls. Where energy alone tells an end, a run
 * keeps 2 s away from it; and 7 s from a standstill that it sets off from
 * without a cadence to go by, for the few strokes of getting going look like a steeper slope.
 *
 * Listed as turned down: coasts of at least half the asked distance and half the asked drop, and
 * descents that are long and deep enough but were pedalled or braked. What is shorter or shallower
 * is no more than riding and is not listed. */
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
