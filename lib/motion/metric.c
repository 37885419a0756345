#include "motion/metric.h"

#include <math.h>

/* WGS84 (NGA.STND.0036, table 3.1): semi-major axis and flattening. */
#define SEMI_MAJOR_M 6378137.0
#define FLATTENING (1.0 / 298.257223563)
#define DEGREE (3.14159265358979323846 / 180.0)

/* Radii of curvature at a latitude: M along the meridian, N across it. */
static void radii(double latitude_deg, double *meridian_m, double *normal_m) {
    const double e2 = FLATTENING * (2.0 - FLATTENING);
    double sine = sin(latitude_deg * DEGREE);
    double w2 = 1.0 - e2 * sine * sine;
    *normal_m = SEMI_MAJOR_M / sqrt(w2);
    *meridian_m = *normal_m * (1.0 - e2) / w2;
}

/* The shorter way round, so that a ride across the 180th meridian has no jump. */
static double longitude_difference(double from_deg, double to_deg) {
    return remainder(to_deg - from_deg, 360.0);
}

struct cw_metric cw_metric_make(double latitude_deg, double longitude_deg) {
    double m, n;
    radii(latitude_deg, &m, &n);
    struct cw_metric metric = {latitude_deg, longitude_deg, m * DEGREE,
                               n * cos(latitude_deg * DEGREE) * DEGREE};
    return metric;
}

void cw_metric_raise(struct cw_metric *metric, double height_m) {
    double m, n;
    radii(metric->latitude_deg, &m, &n);
    double scale = 1.0 + height_m / sqrt(m * n);
    metric->metres_per_degree_north *= scale;
    metric->metres_per_degree_east *= scale;
}

void cw_metric_to_plane(const struct cw_metric *metric, double latitude_deg, double longitude_deg,
                        double *east_m, double *north_m) {
    *east_m =
        longitude_difference(metric->longitude_deg, longitude_deg) * metric->metres_per_degree_east;
    *north_m = (latitude_deg - metric->latitude_deg) * metric->metres_per_degree_north;
}

void cw_metric_to_globe(const struct cw_metric *metric, double east_m, double north_m,
                        double *latitude_deg, double *longitude_deg) {
    *latitude_deg = metric->latitude_deg + north_m / metric->metres_per_degree_north;
    *longitude_deg =
        remainder(metric->longitude_deg + east_m / metric->metres_per_degree_east, 360.0);
}

double cw_metric_east_scale(const struct cw_metric *metric, double latitude_deg) {
    struct cw_metric here = cw_metric_make(latitude_deg, metric->longitude_deg);
    struct cw_metric origin = cw_metric_make(metric->latitude_deg, metric->longitude_deg);
    return here.metres_per_degree_east / origin.metres_per_degree_east;
}

double cw_metric_distance(double latitude1_deg, double longitude1_deg, double latitude2_deg,
                          double longitude2_deg) {
    struct cw_metric middle = cw_metric_make(0.5 * (latitude1_deg + latitude2_deg), longitude1_deg);
    return hypot((latitude2_deg - latitude1_deg) * middle.metres_per_degree_north,
                 longitude_difference(longitude1_deg, longitude2_deg) *
                     middle.metres_per_degree_east);
}
