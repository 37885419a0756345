/* A map's error of height, which belongs to the place: known at posts along the road, straight
 * between them. */
#ifndef CW_SIMULATE_MAP_H
#define CW_SIMULATE_MAP_H

#include <stddef.h>

#include "base/error.h"
#include "simulate/course.h"

struct cw_map {
    const struct cw_course *course;
    double from_m;
    size_t n;
    double *error_m;
};

/* Over all of the course, which must outlive the map. Free with cw_map_free. */
enum cw_status cw_map_make(const struct cw_course *course, struct cw_map *map,
                           struct cw_error *error);
void cw_map_free(struct cw_map *map);
/* The map's height at a place of the road. */
double cw_map_height(const struct cw_map *map, double s_m);

#endif
