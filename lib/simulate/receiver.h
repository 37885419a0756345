/* The positions that a device records, and the speed that it makes of them. */
#ifndef CW_SIMULATE_RECEIVER_H
#define CW_SIMULATE_RECEIVER_H

#include <stdbool.h>

#include "motion/metric.h"
#include "recording/samples.h"
#include "simulate/course.h"
#include "simulate/options.h"
#include "simulate/random.h"

struct cw_receiver {
    const struct cw_simulate_options *options;
    struct cw_metric metric;
    struct cw_random wandering, fast, white;
    struct cw_drift wander_east_m, wander_north_m, fast_east_m, fast_north_m;
    double east_m, north_m; /* where it says it is */
    double own_speed_ms, own_distance_m;
};

/* height_m: of the plane of the positions. False when memory ran out. Close it all the same. */
bool cw_receiver_open(const struct cw_simulate_options *options, double height_m,
                      struct cw_receiver *receiver);
void cw_receiver_close(struct cw_receiver *receiver);

/* A recording begins at a true place; the next sample is dt_s later. */
void cw_receiver_start(struct cw_receiver *receiver, const struct cw_course_point *at);
void cw_receiver_step(struct cw_receiver *receiver, const struct cw_course_point *at, double dt_s);

/* How far the place that it says lies along a road of that heading from the true one. */
double cw_receiver_along_m(const struct cw_receiver *receiver, const struct cw_course_point *at,
                           double heading_rad);
/* The position as the file holds it. */
void cw_receiver_say(const struct cw_receiver *receiver, struct cw_sample *sample);

#endif
