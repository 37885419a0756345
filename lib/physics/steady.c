#include "physics/steady.h"

#include <math.h>

#include "stats/root.h"

double cw_steady_power_w(const struct cw_bicycle *bicycle,
                         const struct cw_surroundings *surroundings, double speed_ms,
                         double slope_sine) {
    return -speed_ms * bicycle->mass_kg * cw_inertia_factor(bicycle) *
           cw_coast_acceleration(bicycle, surroundings, speed_ms, slope_sine);
}

struct balance {
    const struct cw_bicycle *bicycle;
    const struct cw_surroundings *surroundings;
    double power_w, slope_sine;
};

static double acceleration(double speed_ms, void *state) {
    const struct balance *b = state;
    return cw_coast_acceleration(b->bicycle, b->surroundings, speed_ms, b->slope_sine) +
           cw_power_acceleration(b->bicycle, b->power_w, speed_ms);
}

double cw_steady_speed_ms(const struct cw_bicycle *bicycle,
                          const struct cw_surroundings *surroundings, double power_w,
                          double slope_sine) {
    struct balance balance = {bicycle, surroundings, power_w, slope_sine};
    double low = 0, high = 1;
    if (!(acceleration(0, &balance) > 0)) return NAN;
    /* What drives falls with the speed, what brakes grows: there is one such speed, or none. */
    while (acceleration(high, &balance) > 0) {
        low = high;
        high *= 2;
        if (high > 1e6) return INFINITY;
    }
    return cw_root(acceleration, &balance, low, high, 0);
}
