/* The forces on a coasting bicycle. */
#ifndef CW_PHYSICS_FORCES_H
#define CW_PHYSICS_FORCES_H

#include <stdbool.h>

#include "base/public.h"

CW_PUBLIC_BEGIN

struct cw_bicycle {
    double mass_kg; /* all that moves: rider, bicycle, load */
    double cda_m2, crr;
    double wheel_inertia_kgm2; /* both wheels */
    double wheel_radius_m;
    bool frictionless_bearings; /* leaves the bearings out, as closed forms do; false by default */
};

struct cw_surroundings {
    double density_kgm3;
    double gravity_ms2;
    double wind_along_ms; /* + is a headwind */
};

/* k = 1 + I/(m r2): inertia of the wheels as extra mass. 1 where no inertia is given. */
double cw_inertia_factor(const struct cw_bicycle *bicycle);
/* Newtons against a turning wheel at speed_ms >= 0: 0.091 + 0.0087 v (Martin et al. 1998, J. Appl.
 * Biomech. 14:276, eq. 10, as a force). At 0 it is the limit of a wheel that begins to turn. */
double cw_force_bearing(double speed_ms);
/* Newtons against the motion: 0.5 rho CdA (v+w)|v+w| (Martin et al. 1998, eq. 4). */
double cw_force_drag(double speed_ms, double wind_along_ms, double density_kgm3, double cda_m2);
/* Newtons against the motion: Crr m g cos(angle) on a road of that angle to the horizontal
 * (Martin et al. 1998, eq. 8). */
double cw_force_rolling(double crr, double mass_kg, double gravity_ms2, double slope_angle_rad);
/* dv/dt of a coast at speed_ms >= 0 on a slope of angle slope_angle_rad (negative is down), from
 * m k dv/dt = -m g sin(angle) - rolling - drag - bearing. */
double cw_coast_acceleration(const struct cw_bicycle *bicycle,
                             const struct cw_surroundings *surroundings, double speed_ms,
                             double slope_angle_rad);

CW_PUBLIC_END

#endif
