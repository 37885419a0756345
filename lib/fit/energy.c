#include "fit/energy.h"

#include <math.h>

double cw_energy_cosine(double slope) {
    double sine = fmin(0.5, fabs(slope));
    return sqrt(1 - sine * sine);
}

void cw_energy_columns(const struct cw_bicycle *bicycle, const struct cw_surroundings *surroundings,
                       size_t n, const double *s_m, const double *speed_ms, const double *cosine,
                       const double *air, double *kinetic_m, double *roll_m, double *drag_m_per_m2,
                       double *bearing_m) {
    double roll = 0, drag = 0, bearing = 0;
    struct cw_loss before = {0};
    for (size_t i = 0; i < n; i++) {
        struct cw_loss here =
            cw_coast_loss(bicycle, surroundings, speed_ms[i], cosine ? cosine[i] : 1);
        if (air) here.drag *= air[i];
        if (i) {
            double half = 0.5 * (s_m[i] - s_m[i - 1]);
            roll += half * (before.rolling + here.rolling);
            drag += half * (before.drag + here.drag);
            bearing += half * (before.bearing + here.bearing);
        }
        kinetic_m[i] = cw_kinetic_head(bicycle, surroundings->gravity_ms2, speed_ms[i]);
        roll_m[i] = roll;
        drag_m_per_m2[i] = drag;
        bearing_m[i] = bearing;
        before = here;
    }
}
