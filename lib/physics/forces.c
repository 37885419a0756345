#include "physics/forces.h"

#include <math.h>

/* N and N/(m/s). */
static const double bearing_at_rest = 0.091, bearing_rise = 0.0087;

struct cw_surroundings cw_surroundings_at(const struct cw_surroundings *surroundings,
                                          double height_m) {
    struct cw_surroundings there = *surroundings;
    there.density_kgm3 *= cw_air_column_density(&surroundings->column, height_m);
    there.column = (struct cw_air_column){0};
    return there;
}

double cw_inertia_factor(const struct cw_bicycle *bicycle) {
    if (bicycle->wheel_inertia_kgm2 == 0) return 1;
    return 1 + bicycle->wheel_inertia_kgm2 /
                   (bicycle->mass_kg * bicycle->wheel_radius_m * bicycle->wheel_radius_m);
}

double cw_kinetic_head(const struct cw_bicycle *bicycle, double gravity_ms2, double speed_ms) {
    return cw_inertia_factor(bicycle) * speed_ms * speed_ms / (2 * gravity_ms2);
}

struct cw_loss cw_coast_loss(const struct cw_bicycle *bicycle,
                             const struct cw_surroundings *surroundings, double speed_ms,
                             double slope_cosine) {
    double weight_n = bicycle->mass_kg * surroundings->gravity_ms2;
    double air_ms = speed_ms + surroundings->wind_along_ms;
    struct cw_loss loss = {.rolling = slope_cosine,
                           .drag =
                               surroundings->density_kgm3 / (2 * weight_n) * air_ms * fabs(air_ms),
                           .drag_by_speed = surroundings->density_kgm3 / weight_n * fabs(air_ms)};
    if (!bicycle->frictionless_bearings) {
        loss.bearing = (bearing_at_rest + bearing_rise * speed_ms) / weight_n;
        loss.bearing_by_speed = bearing_rise / weight_n;
    }
    return loss;
}

double cw_loss_sum(const struct cw_loss *loss, double cda_m2, double crr) {
    return crr * loss->rolling + cda_m2 * loss->drag + loss->bearing;
}

double cw_bend_loss(double speed_ms, double curve_1m, double gravity_ms2) {
    double aside = speed_ms * speed_ms * curve_1m / gravity_ms2;
    return aside * aside;
}

double cw_crr_warmer(double fall_1k, double warmer_k) {
    return exp(-fall_1k * warmer_k);
}

double cw_coast_acceleration(const struct cw_bicycle *bicycle,
                             const struct cw_surroundings *surroundings, double speed_ms,
                             double slope_sine) {
    double cosine = sqrt(1 - slope_sine * slope_sine);
    struct cw_loss loss = cw_coast_loss(bicycle, surroundings, speed_ms, cosine);
    return -surroundings->gravity_ms2 / cw_inertia_factor(bicycle) *
           (slope_sine + cw_loss_sum(&loss, bicycle->cda_m2, bicycle->crr));
}

static const double full_push_ms = 1;

double cw_power_acceleration(const struct cw_bicycle *bicycle, double power_w, double speed_ms) {
    return power_w / fmax(speed_ms, full_push_ms) / (bicycle->mass_kg * cw_inertia_factor(bicycle));
}
