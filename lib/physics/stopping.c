#include "physics/stopping.h"

#include <math.h>

#include "physics/gravity.h"

static const double until_brakes_act_s = 1;
static const double brakes_ms2 = (25 / 3.6) * (25 / 3.6) / (2 * 7); /* v squared / 2 d */

double cw_stopping_distance(double speed_ms, double slope) {
    double left_ms2 = brakes_ms2 + CW_STANDARD_GRAVITY_MS2 * slope / sqrt(1 + slope * slope);
    if (left_ms2 <= 0) return isnan(speed_ms) ? NAN : INFINITY;
    return speed_ms * until_brakes_act_s + speed_ms * speed_ms / (2 * left_ms2);
}
