#include "simulate/receiver.h"

#include <math.h>

bool cw_receiver_open(const struct cw_simulate_options *options, double height_m,
                      struct cw_receiver *receiver) {
    *receiver = (struct cw_receiver){
        .options = options,
        .metric = cw_metric_make(options->latitude_deg, options->longitude_deg),
        .wandering = cw_random_make(options->seed, CW_STREAM_POSITION_DRIFT),
        .fast = cw_random_make(options->seed, CW_STREAM_POSITION_FAST),
        .white = cw_random_make(options->seed, CW_STREAM_POSITION)};
    cw_metric_raise(&receiver->metric, height_m);
    return receiver->wandering.state && receiver->fast.state && receiver->white.state;
}

void cw_receiver_close(struct cw_receiver *receiver) {
    cw_random_free(&receiver->wandering);
    cw_random_free(&receiver->fast);
    cw_random_free(&receiver->white);
}

/* The true place with all errors on it. */
static void fix(struct cw_receiver *receiver, const struct cw_course_point *at) {
    double sd_m = receiver->options->position_sd_m;
    receiver->east_m =
        at->east_m + receiver->wander_east_m.value + sd_m * cw_random_normal(&receiver->white);
    receiver->north_m =
        at->north_m + receiver->wander_north_m.value + sd_m * cw_random_normal(&receiver->white);
    receiver->east_m += receiver->fast_east_m.value;
    receiver->north_m += receiver->fast_north_m.value;
}

void cw_receiver_start(struct cw_receiver *receiver, const struct cw_course_point *at) {
    const struct cw_simulate_options *options = receiver->options;
    double wander_sd_m = options->position_drift_sd_m, wander_s = options->position_drift_time_s;
    double fast_sd_m = options->position_fast_sd_m, fast_s = options->position_fast_time_s;
    receiver->wander_east_m = cw_drift_make(wander_sd_m, wander_s, &receiver->wandering);
    receiver->wander_north_m = cw_drift_make(wander_sd_m, wander_s, &receiver->wandering);
    receiver->fast_east_m = cw_drift_make(fast_sd_m, fast_s, &receiver->fast);
    receiver->fast_north_m = cw_drift_make(fast_sd_m, fast_s, &receiver->fast);
    receiver->own_speed_ms = receiver->own_distance_m = 0;
    fix(receiver, at);
}

/* The way between two positions over the time, through a first-order filter. */
void cw_receiver_step(struct cw_receiver *receiver, const struct cw_course_point *at, double dt_s) {
    double east_m = receiver->east_m, north_m = receiver->north_m;
    double lag_s = receiver->options->own_speed_lag_s;
    cw_drift_step(&receiver->wander_east_m, dt_s, &receiver->wandering);
    cw_drift_step(&receiver->wander_north_m, dt_s, &receiver->wandering);
    cw_drift_step(&receiver->fast_east_m, dt_s, &receiver->fast);
    cw_drift_step(&receiver->fast_north_m, dt_s, &receiver->fast);
    fix(receiver, at);
    double speed_ms = hypot(receiver->east_m - east_m, receiver->north_m - north_m) / dt_s;
    receiver->own_speed_ms +=
        (speed_ms - receiver->own_speed_ms) * (lag_s > 0 ? -expm1(-dt_s / lag_s) : 1);
    receiver->own_distance_m += receiver->own_speed_ms * dt_s;
}

double cw_receiver_along_m(const struct cw_receiver *receiver, const struct cw_course_point *at,
                           double heading_rad) {
    return (receiver->east_m - at->east_m) * sin(heading_rad) +
           (receiver->north_m - at->north_m) * cos(heading_rad);
}

void cw_receiver_say(const struct cw_receiver *receiver, struct cw_sample *sample) {
    cw_metric_to_globe(&receiver->metric, receiver->east_m, receiver->north_m,
                       &sample->latitude_deg, &sample->longitude_deg);
    sample->latitude_deg = rint(sample->latitude_deg * 1e7) / 1e7;
    sample->longitude_deg = rint(sample->longitude_deg * 1e7) / 1e7;
}
