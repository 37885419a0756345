/* How far a bicycle goes before its brakes bring it to a stand. */
#ifndef CW_PHYSICS_STOPPING_H
#define CW_PHYSICS_STOPPING_H

#include "base/public.h"

CW_PUBLIC_BEGIN

/* Metres from speed_ms (0 or above) to a stand on a dry road of that slope dh/ds (below 0
 * downhill): one second until the brakes act (common practice, no source), then brakes that do what
 * ISO 4210-2 asks at least of a city bicycle, a stand within 7 m of 25 km/h on the flat, dry (as
 * remembered), under standard gravity. INFINITY where the slope takes all that they have; NaN for
 * what is no number. A figure to plan a run-out by, not a promise: wet rims, worn pads and a
 * skidding tyre need several times as much. */
double cw_stopping_distance(double speed_ms, double slope);

CW_PUBLIC_END

#endif
