/* How far apart two positions are, well enough to judge whether a rider can have got there. */
#ifndef CW_RECORDING_PLACE_H
#define CW_RECORDING_PLACE_H

#include <math.h>

/* Nobody rides faster, in m/s (216 km/h). */
#define CW_SPEED_MAX_MS 60.0

/* Metres on the sphere of the mean radius 6 371 008.8 m (IUGG), within 0.6 % over short
 * distances. NaN if a position is missing. */
static inline double cw_place_apart_m(double latitude1_deg, double longitude1_deg,
                                      double latitude2_deg, double longitude2_deg) {
    const double radius_m = 6371008.8, radian = 3.14159265358979323846 / 180;
    double east = remainder(longitude2_deg - longitude1_deg, 360) * radian *
                  cos((latitude1_deg + latitude2_deg) / 2 * radian);
    double north = (latitude2_deg - latitude1_deg) * radian;
    return radius_m * hypot(east, north);
}

#endif
