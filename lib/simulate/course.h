/* The made-up road: slope, height and line on the ground as smooth functions of the distance along
 * it. It goes on straight before its top and beyond its end, for pedalling off and braking. */
#ifndef CW_SIMULATE_COURSE_H
#define CW_SIMULATE_COURSE_H

#include <stddef.h>

#include "base/error.h"
#include "simulate/options.h"

struct cw_course {
    const struct cw_simulate_options *options; /* must outlive the course */
    double length_m;
    double from_m; /* where the table begins (below 0) */
    size_t n;      /* points of the table, 1 m apart */
    double *height_m, *east_m, *north_m;
};

/* Where the road is at s: the plane's origin is its top, east and north are horizontal metres. */
struct cw_course_point {
    double height_m, east_m, north_m;
};

/* before_m and beyond_m: how far the road goes on at both ends. Free with cw_course_free. */
enum cw_status cw_course_make(const struct cw_simulate_options *options, double before_m,
                              double beyond_m, struct cw_course *course, struct cw_error *error);
void cw_course_free(struct cw_course *course);

/* dh/ds, the sine of the slope's angle, the heading in radians clockwise from north, and how that
 * changes along the road: 1/radius, + to the right. */
double cw_course_sine(const struct cw_course *course, double s_m);
double cw_course_heading(const struct cw_course *course, double s_m);
double cw_course_curve(const struct cw_course *course, double s_m);
/* Cubic between the table's points with their exact slopes: within 1e-6 m. */
struct cw_course_point cw_course_at(const struct cw_course *course, double s_m);

#endif
