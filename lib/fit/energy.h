/* The energy balance of a coast, summed from speed alone: what each cause costs in metres of
 * height.
 *
 *   h + K + Crr X + CdA A + B = constant
 *
 * (formulas in fit/README.md; the losses are those of physics/forces.h). All but h, turned about,
 * is the virtual elevation: it is linear in CdA and Crr. */
#ifndef CW_FIT_ENERGY_H
#define CW_FIT_ENERGY_H

#include <stddef.h>

#include "physics/forces.h"

/* Fills four columns of n numbers from distances along the road and speeds (and cosines of the
 * slope's angle, or NULL for a level road; and what the air's density is of the surroundings', or
 * NULL where it is that): kinetic_m[i] = K, and by the trapezoid along the road
 * roll_m[i] = X, drag_m_per_m2[i] = A, bearing_m[i] = B, the last three from 0. Along the road, not
 * in time: in a second of even acceleration v2 is straight over the road, while v3 in time is not,
 * and on a steep road at 1 Hz that would put a percent on Crr. The bicycle's CdA and Crr are not
 * looked at. */
void cw_energy_columns(const struct cw_bicycle *bicycle, const struct cw_surroundings *surroundings,
                       size_t n, const double *s_m, const double *speed_ms, const double *cosine,
                       const double *air, double *kinetic_m, double *roll_m, double *drag_m_per_m2,
                       double *bearing_m);

/* The cosine of a road's angle from its slope dh/ds, the sine; as for 30 degrees where a profile
 * that was pulled about is steeper than a road can be. */
double cw_energy_cosine(double slope);

#endif
