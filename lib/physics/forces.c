#include "physics/forces.h"

#include <math.h>

double cw_inertia_factor(const struct cw_bicycle *bicycle) {
    if (bicycle->wheel_inertia_kgm2 == 0) return 1;
    return 1 + bicycle->wheel_inertia_kgm2 /
                   (bicycle->mass_kg * bicycle->wheel_radius_m * bicycle->wheel_radius_m);
}

double cw_force_bearing(double speed_ms) {
    return 0.091 + 0.0087 * speed_ms;
}

double cw_force_drag(double speed_ms, double wind_along_ms, double density_kgm3, double cda_m2) {
    double air_speed = speed_ms + wind_along_ms;
    return 0.5 * density_kgm3 * cda_m2 * air_speed * fabs(air_speed);
}

double cw_force_rolling(double crr, double mass_kg, double gravity_ms2, double slope_angle_rad) {
    return crr * mass_kg * gravity_ms2 * cos(slope_angle_rad);
}

double cw_coast_acceleration(const struct cw_bicycle *bicycle,
                             const struct cw_surroundings *surroundings, double speed_ms,
                             double slope_angle_rad) {
    double against = bicycle->mass_kg * surroundings->gravity_ms2 * sin(slope_angle_rad) +
                     cw_force_rolling(bicycle->crr, bicycle->mass_kg, surroundings->gravity_ms2,
                                      slope_angle_rad) +
                     cw_force_drag(speed_ms, surroundings->wind_along_ms,
                                   surroundings->density_kgm3, bicycle->cda_m2);
    if (!bicycle->frictionless_bearings) against += cw_force_bearing(speed_ms);
    return -against / (bicycle->mass_kg * cw_inertia_factor(bicycle));
}
