#include "physics/gravity.h"

#include <math.h>

/* NGA.STND.0036, tables 3.1 to 3.6. */
static const double equator_ms2 = 9.7803253359;
static const double somigliana_k = 1.931852652458e-3;
static const double eccentricity2 = 6.69437999014e-3;
static const double semi_major_m = 6378137.0;
static const double flattening = 1 / 298.257223563;
static const double rotation_m = 3.449786506841e-3; /* omega2 a2 b / GM */

double cw_gravity(double latitude_deg, double height_m) {
    double sine = sin(latitude_deg * 3.14159265358979323846 / 180);
    double sine2 = sine * sine;
    double surface = equator_ms2 * (1 + somigliana_k * sine2) / sqrt(1 - eccentricity2 * sine2);
    double relative = height_m / semi_major_m;
    return surface * (1 - 2 * (1 + flattening + rotation_m - 2 * flattening * sine2) * relative +
                      3 * relative * relative);
}
