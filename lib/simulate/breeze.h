/* The wind without gusts, by the clock: as it was made for the runs, and straight in between. Who
 * coasts along meets it too, and a sensor beside the road. */
#ifndef CW_SIMULATE_BREEZE_H
#define CW_SIMULATE_BREEZE_H

#include <stddef.h>

#include "base/error.h"

struct cw_breeze {
    size_t n, capacity;
    double *time_s;     /* on the ride's clock, never less than the one before */
    double *against_ms; /* who rides down the road, over the steady wind */
};

/* All zero is an empty one. Free with cw_breeze_free. */
enum cw_status cw_breeze_add(struct cw_breeze *breeze, double time_s, double against_ms,
                             struct cw_error *error);
void cw_breeze_free(struct cw_breeze *breeze);

/* At a time; the ends go on as they are, and an empty one is 0. */
double cw_breeze_at(const struct cw_breeze *breeze, double time_s);
/* The mean from one time to a later one. */
double cw_breeze_mean(const struct cw_breeze *breeze, double from_s, double to_s);

#endif
