/* Riding steadily: the power that a speed takes, and the speed at which nothing changes any more.
 */
#ifndef CW_PHYSICS_STEADY_H
#define CW_PHYSICS_STEADY_H

#include "base/public.h"
#include "physics/forces.h"

CW_PUBLIC_BEGIN

/* Watts at the wheel for a steady speed_ms >= 0 on a slope of that sine (dh/ds): against drag,
 * tyres, bearings and the slope itself (Martin et al. 1998, J. Appl. Biomech. 14:276; the chain,
 * which there takes 2.4 % of what the legs give, is left out). Below 0 where the slope drives. */
double cw_steady_power_w(const struct cw_bicycle *bicycle,
                         const struct cw_surroundings *surroundings, double speed_ms,
                         double slope_sine);

/* The speed that a power at the wheel, 0 for a coast, comes to on that slope: m/s. NaN where it
 * does not set the bicycle rolling from a stand, INFINITY where nothing holds it. */
double cw_steady_speed_ms(const struct cw_bicycle *bicycle,
                          const struct cw_surroundings *surroundings, double power_w,
                          double slope_sine);

CW_PUBLIC_END

#endif
