#include "fit/energy.h"

#include <math.h>

#include "physics/forces.h"

static double weight_n(const struct cw_balance *balance) {
    return balance->mass_kg * balance->gravity_ms2;
}

double cw_energy_drag(const struct cw_balance *balance, double speed_ms) {
    double air_ms = speed_ms + balance->wind_along_ms;
    return balance->density_kgm3 / (2 * weight_n(balance)) * air_ms * fabs(air_ms);
}

double cw_energy_drag_by_speed(const struct cw_balance *balance, double speed_ms) {
    return balance->density_kgm3 / weight_n(balance) * fabs(speed_ms + balance->wind_along_ms);
}

double cw_energy_bearing(const struct cw_balance *balance, double speed_ms) {
    return balance->bearings * cw_force_bearing(speed_ms) / weight_n(balance);
}

void cw_energy_columns(const struct cw_balance *balance, size_t n, const double *s_m,
                       const double *speed_ms, const double *cosine, double *kinetic_m,
                       double *roll_m, double *drag_m_per_m2, double *bearing_m) {
    double roll = 0, drag = 0, bearing = 0;
    double roll_before = 0, drag_before = 0, bearing_before = 0; /* per metre of road */
    for (size_t i = 0; i < n; i++) {
        double v = speed_ms[i];
        double roll_here = cosine ? cosine[i] : 1;
        double drag_here = cw_energy_drag(balance, v);
        double bearing_here = cw_energy_bearing(balance, v);
        if (i) {
            double half = 0.5 * (s_m[i] - s_m[i - 1]);
            roll += half * (roll_before + roll_here);
            drag += half * (drag_before + drag_here);
            bearing += half * (bearing_before + bearing_here);
        }
        kinetic_m[i] = balance->inertia_factor * v * v / (2 * balance->gravity_ms2);
        roll_m[i] = roll;
        drag_m_per_m2[i] = drag;
        bearing_m[i] = bearing;
        roll_before = roll_here;
        drag_before = drag_here;
        bearing_before = bearing_here;
    }
}
