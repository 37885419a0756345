/* The true motion of a whole made-up outing: waiting, pedalling off, coasting, braking and riding
 * back up, as phases that follow one another. */
#ifndef CW_SIMULATE_RIDE_H
#define CW_SIMULATE_RIDE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "simulate/options.h"
#include "simulate/run.h"

struct cw_ride_phase {
    size_t recording;
    double begin_s, duration_s;         /* on the ride's clock, from 0 */
    double s_m, speed_ms;               /* at its beginning; speed is negative towards the top */
    double acceleration_ms2;            /* constant, where run is NULL */
    double distance_m;                  /* as ridden so far, whatever the direction */
    double cadence_rpm;                 /* 0: not pedalling */
    const struct cw_simulated_run *run; /* a coast: its integrated descent rules */
};

struct cw_ride {
    size_t n, capacity;
    struct cw_ride_phase *phases;
};

struct cw_ride_state {
    double s_m, speed_ms, distance_m, cadence_rpm;
};

/* Coasts the run of a number (from 0) whose recording and way are set: fills its descent. The ride
 * calls it when its clock has come to the run's beginning, for air changes with time. */
typedef enum cw_status (*cw_ride_coast)(size_t number, double clock_s, void *state,
                                        struct cw_error *error);

/* Lays the phases around the runs' descents along a road of that length and sets each run's
 * recording, way and times. ahead: the runs of another who is followed, companion_behind_s later,
 * or later than that where one is not back in time; NULL: nobody. The runs must outlive the ride.
 * Free with cw_ride_free, also after an error. */
enum cw_status cw_ride_make(const struct cw_simulate_options *options, double length_m,
                            const struct cw_simulated_run *ahead, struct cw_simulated_run *runs,
                            cw_ride_coast coast, void *state, struct cw_ride *ride,
                            struct cw_error *error);
void cw_ride_free(struct cw_ride *ride);

/* How far before the road's top, or its end on the way back, pedalling begins at most. */
double cw_ride_push_distance_m(const struct cw_simulate_options *options);

/* The state at a time within a phase or at its ends. */
struct cw_ride_state cw_ride_phase_at(const struct cw_ride_phase *phase, double time_s);

#endif
