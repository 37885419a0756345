/* Local metric: metres east and north of a point on the WGS84 ellipsoid. */
#ifndef CW_ROAD_METRIC_H
#define CW_ROAD_METRIC_H

/* Metres per degree at a mid-latitude, from the ellipsoid's radii M (meridian) and N (prime
 * vertical). Distances within some kilometres are right to 3e-9 (checked against geodesics). */
struct cw_metric {
    double latitude_deg, longitude_deg; /* the origin */
    double metres_per_degree_north, metres_per_degree_east;
};

struct cw_metric cw_metric_make(double latitude_deg, double longitude_deg);
void cw_metric_to_plane(const struct cw_metric *metric, double latitude_deg, double longitude_deg,
                        double *east_m, double *north_m);
void cw_metric_to_globe(const struct cw_metric *metric, double east_m, double north_m,
                        double *latitude_deg, double *longitude_deg);
/* Distance in metres between two points less than some kilometres apart (own mid-latitude). */
double cw_metric_distance(double latitude1_deg, double longitude1_deg, double latitude2_deg,
                          double longitude2_deg);

#endif
