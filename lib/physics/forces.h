/* The forces on a coasting bicycle. */
#ifndef CW_PHYSICS_FORCES_H
#define CW_PHYSICS_FORCES_H

struct cw_bicycle {
    double mass_kg; /* all that moves: rider, bicycle, load */
    double cda_m2, crr;
    double wheel_inertia_kgm2; /* both wheels */
    double wheel_radius_m;
};

struct cw_surroundings {
    double density_kgm3;
    double gravity_ms2;
    double wind_along_ms; /* + is a headwind */
};

/* k = 1 + I/(m r2): inertia of the wheels as extra mass. */
double cw_inertia_factor(const struct cw_bicycle *bicycle);
/* Newtons at speed_ms: 0.091 + 0.0087 v (Martin et al. 1998, J. Appl. Biomech. 14:276, eq. 10);
 * 0 at standstill. */
double cw_force_bearing(double speed_ms);
/* Newtons against the motion: 0.5 rho CdA (v+w)|v+w|. */
double cw_force_drag(double speed_ms, double wind_along_ms, double density_kgm3, double cda_m2);
/* Newtons: Crr m g cos(atan(slope)) where slope is dh/dx over horizontal distance. */
double cw_force_rolling(double crr, double mass_kg, double gravity_ms2, double slope_angle_rad);
/* dv/dt of a coast on a slope of angle slope_angle_rad (negative is down). */
double cw_coast_acceleration(const struct cw_bicycle *bicycle,
                             const struct cw_surroundings *surroundings, double speed_ms,
                             double slope_angle_rad);

#endif
