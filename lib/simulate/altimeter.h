/* The heights that a device records: felt by a barometer, had from satellites or read off a map. */
#ifndef CW_SIMULATE_ALTIMETER_H
#define CW_SIMULATE_ALTIMETER_H

#include <stdbool.h>

#include "simulate/day.h"
#include "simulate/faults.h"
#include "simulate/options.h"
#include "simulate/random.h"

struct cw_altimeter {
    const struct cw_simulate_options *options;
    const struct cw_faults *faults;
    const struct cw_day *day; /* of the recording */
    struct cw_random drifting, white, feeling;
    struct cw_drift drift_m; /* of what it records */
    struct cw_drift felt_m;  /* of what it feels, beside the height */
    double top_indicated_m;  /* pressure altitude of the road's top */
    double height_m, smoothed_m, time_s;
    size_t next_jump; /* which has not come yet */
    double jumped_m;
};

/* False when memory ran out. Close it all the same. What is handed in must outlive it. */
bool cw_altimeter_open(const struct cw_simulate_options *options, const struct cw_faults *faults,
                       struct cw_altimeter *altimeter);
void cw_altimeter_close(struct cw_altimeter *altimeter);

/* A recording begins on a day at a true height. A barometer is set to the true height at the road's
 * top. Times are on the ride's clock. */
void cw_altimeter_start(struct cw_altimeter *altimeter, size_t recording, const struct cw_day *day,
                        double time_s, double true_m);
/* The true height has gone straight from the last one to this; so has what is felt, which is
 * smoothed exactly. */
void cw_altimeter_follow(struct cw_altimeter *altimeter, double time_s, double true_m);
/* A sample dt_s after the last one. */
void cw_altimeter_step(struct cw_altimeter *altimeter, double dt_s);
/* The height as the file holds it. map_m: what a map says of the place; not looked at where heights
 * are not from one. */
double cw_altimeter_say(struct cw_altimeter *altimeter, double map_m);

#endif
