/* Local metric: metres east and north of a point on the WGS84 ellipsoid. */
#ifndef CW_MOTION_METRIC_H
#define CW_MOTION_METRIC_H

#include "base/public.h"

CW_PUBLIC_BEGIN

/* A plane that touches the ellipsoid at its origin. Metres per degree come from the ellipsoid's
 * radii M (meridian) and N (prime vertical) at the origin's latitude. North of the origin by y
 * metres, lengths east-west come out too long by the part y tan(latitude) / 6.4e6, so the plane is
 * for lines on the ground (within some kilometres), not for lengths that must be right; for those
 * there are cw_metric_distance and cw_metric_east_scale. */
struct cw_metric {
    double latitude_deg, longitude_deg; /* the origin */
    double metres_per_degree_north, metres_per_degree_east;
};

struct cw_metric cw_metric_make(double latitude_deg, double longitude_deg);
/* Lifts the plane from the ellipsoid to height_m above it: lengths grow by height / sqrt(M N),
 * 1.6e-4 at 1,000 m. */
void cw_metric_raise(struct cw_metric *metric, double height_m);
void cw_metric_to_plane(const struct cw_metric *metric, double latitude_deg, double longitude_deg,
                        double *east_m, double *north_m);
void cw_metric_to_globe(const struct cw_metric *metric, double east_m, double north_m,
                        double *latitude_deg, double *longitude_deg);
/* True length over plane length for short steps east-west at a latitude; 1 at the origin. */
double cw_metric_east_scale(const struct cw_metric *metric, double latitude_deg);
/* Distance in metres on the ellipsoid between two points less than some kilometres apart, by M and
 * N at their mid-latitude; right to 3e-9 of itself up to 1.6 km (checked against geodesics). */
double cw_metric_distance(double latitude1_deg, double longitude1_deg, double latitude2_deg,
                          double longitude2_deg);

CW_PUBLIC_END

#endif
