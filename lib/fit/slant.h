/* From distances on the map to distances along the slope: positions give the first, wheels and the
 * energy balance know the second. On a 10 % slope they differ by 0.5 %. */
#ifndef CW_FIT_SLANT_H
#define CW_FIT_SLANT_H

#include <stddef.h>

#include "base/error.h"

struct cw_slant {
    double start_m, spacing_m;
    size_t n;
    double *along_m; /* at start + i spacing on the map; along = map at the start */
};

/* From n heights (NaN ones are passed over) at map distances. Free with cw_slant_free. CW_E_DATA
 * when there are none. */
enum cw_status cw_slant_make(const double *map_m, const double *height_m, size_t n,
                             struct cw_slant *slant, struct cw_error *error);
void cw_slant_free(struct cw_slant *slant);

/* Distance along the slope at a map distance, and how it grows with it (1/cos of the slope). Beyond
 * the ends the road is taken as it is there. */
double cw_slant_along(const struct cw_slant *slant, double map_m);
double cw_slant_rate(const struct cw_slant *slant, double map_m);

#endif
