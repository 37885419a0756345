#include "simulate/ride.h"

#include <math.h>
#include <stdlib.h>

#define PUSH_CADENCE_RPM 55
#define CLIMB_CADENCE_RPM 68
#define CLIMB_MS2 0.5    /* getting going for the climb, and rolling out at the top */
#define LAST_WAIT_S 15   /* before a recording ends */
#define HURRIED_WAIT_S 5 /* at the bottom, by who has to be back for the next run of another */

/* What the next phase begins from. */
struct pen {
    struct cw_ride *ride;
    size_t recording;
    double length_m; /* of the road */
    double clock_s, s_m, speed_ms, distance_m;
    bool failed;
};

static void add(struct pen *pen, struct cw_ride_phase phase) {
    struct cw_ride *ride = pen->ride;
    if (phase.duration_s <= 0 || pen->failed) return;
    if (ride->n == ride->capacity) {
        size_t capacity = ride->capacity ? 2 * ride->capacity : 64;
        struct cw_ride_phase *grown = realloc(ride->phases, capacity * sizeof *grown);
        if (!grown) {
            pen->failed = true;
            return;
        }
        ride->phases = grown;
        ride->capacity = capacity;
    }
    phase.recording = pen->recording;
    phase.begin_s = pen->clock_s;
    phase.s_m = pen->s_m;
    phase.speed_ms = pen->speed_ms;
    phase.distance_m = pen->distance_m;
    ride->phases[ride->n++] = phase;
    pen->clock_s += phase.duration_s;
    struct cw_ride_state end = cw_ride_phase_at(&ride->phases[ride->n - 1], pen->clock_s);
    pen->s_m = end.s_m;
    pen->speed_ms = end.speed_ms;
    pen->distance_m = end.distance_m;
}

static void stand(struct pen *pen, double duration_s) {
    pen->speed_ms = 0;
    add(pen, (struct cw_ride_phase){.duration_s = duration_s});
}

/* Changes speed evenly to speed_ms. */
static void change_speed(struct pen *pen, double speed_ms, double rate_ms2, double cadence_rpm) {
    double change_ms = speed_ms - pen->speed_ms;
    add(pen, (struct cw_ride_phase){.duration_s = fabs(change_ms) / rate_ms2,
                                    .acceleration_ms2 = copysign(rate_ms2, change_ms),
                                    .cadence_rpm = cadence_rpm});
    pen->speed_ms = speed_ms; /* without the rounding */
}

/* Where pedalling off begins for a run that goes that way. */
static double push_m(const struct pen *pen, const struct cw_simulate_options *options, size_t run,
                     int way) {
    double speed_ms = cw_simulate_start_speed(options, run);
    double before_m = speed_ms * speed_ms / (2 * options->push_ms2);
    return way > 0 ? -before_m : pen->length_m + before_m;
}

/* To where pedalling off begins, slower where the distance is short. */
static void ride_to(struct pen *pen, const struct cw_simulate_options *options, double to_m) {
    double left_m = fabs(to_m - pen->s_m);
    double speed_ms = fmin(options->climb_speed_ms, sqrt(left_m * CLIMB_MS2));
    double ramps_m = speed_ms * speed_ms / CLIMB_MS2;
    if (left_m > 0) {
        change_speed(pen, copysign(speed_ms, to_m - pen->s_m), CLIMB_MS2, CLIMB_CADENCE_RPM);
        add(pen, (struct cw_ride_phase){.duration_s = (left_m - ramps_m) / speed_ms,
                                        .cadence_rpm = CLIMB_CADENCE_RPM});
        change_speed(pen, 0, CLIMB_MS2, 0);
    }
    pen->s_m = to_m;
}

static void coast(struct pen *pen, const struct cw_simulate_options *options,
                  struct cw_simulated_run *run) {
    run->start_s = options->start_s + pen->clock_s;
    run->end_s = run->start_s + run->descent.end_time_s;
    if (run->brush_s > 0) run->brush_start_s += run->start_s;
    pen->s_m = run->way > 0 ? 0 : pen->length_m;
    add(pen, (struct cw_ride_phase){.duration_s = run->descent.end_time_s, .run = run});
}

/* Waits where pedalling off begins; who follows somebody waits until it is time. */
static void wait_to_begin(struct pen *pen, const struct cw_simulate_options *options, size_t run,
                          const struct cw_simulated_run *ahead) {
    double push_s = cw_simulate_start_speed(options, run) / options->push_ms2;
    double wait_s = options->top_wait_s;
    if (ahead)
        wait_s =
            ahead->start_s - options->start_s + options->companion_behind_s - push_s - pen->clock_s;
    stand(pen, wait_s);
}

/* Another recording begins: some time after the last, or with that of who is followed. */
static void begin_recording(struct pen *pen, const struct cw_simulate_options *options,
                            size_t number, const struct cw_simulated_run *run,
                            const struct cw_simulated_run *ahead) {
    double push_s = cw_simulate_start_speed(options, number) / options->push_ms2;
    stand(pen, LAST_WAIT_S);
    double next_s = ahead ? ahead->start_s - options->start_s - push_s - options->top_wait_s
                          : pen->clock_s + options->between_recordings_s;
    pen->recording = run->recording;
    pen->clock_s = fmax(pen->clock_s, next_s);
    pen->distance_m = 0;
}

enum cw_status cw_ride_make(const struct cw_simulate_options *options, double length_m,
                            const struct cw_simulated_run *ahead, struct cw_simulated_run *runs,
                            cw_ride_coast coasting, void *state, struct cw_ride *ride,
                            struct cw_error *error) {
    *ride = (struct cw_ride){0};
    struct pen pen = {.ride = ride, .length_m = length_m};
    pen.s_m = push_m(&pen, options, 0, 1);
    for (size_t i = 0; i < options->n_order; i++) {
        struct cw_simulated_run *run = &runs[i];
        run->recording = i * cw_simulate_recordings(options) / options->n_order;
        run->way = options->both_ways && i % 2 ? -1 : 1;
        const struct cw_simulated_run *followed = ahead ? &ahead[i] : NULL;
        if (run->recording != pen.recording) begin_recording(&pen, options, i, run, followed);
        wait_to_begin(&pen, options, i, followed);
        change_speed(&pen, run->way * cw_simulate_start_speed(options, i), options->push_ms2,
                     PUSH_CADENCE_RPM);
        if (pen.failed) return cw_error_memory(error);
        enum cw_status status = coasting(i, pen.clock_s, state, error);
        if (status) return status;
        coast(&pen, options, run);
        change_speed(&pen, 0, options->brake_ms2, 0);
        stand(&pen, ahead ? fmin(options->bottom_wait_s, HURRIED_WAIT_S) : options->bottom_wait_s);
        if (i + 1 < options->n_order)
            ride_to(&pen, options,
                    push_m(&pen, options, i + 1, options->both_ways ? -run->way : 1));
    }
    stand(&pen, LAST_WAIT_S);
    return pen.failed ? cw_error_memory(error) : CW_OK;
}

void cw_ride_free(struct cw_ride *ride) {
    free(ride->phases);
    *ride = (struct cw_ride){0};
}

double cw_ride_push_distance_m(const struct cw_simulate_options *options) {
    double speed_ms = 0;
    for (size_t i = 0; i < options->n_order; i++)
        speed_ms = fmax(speed_ms, cw_simulate_start_speed(options, i));
    return speed_ms * speed_ms / (2 * options->push_ms2);
}

/* Hermite's cubic over a step of h. */
static double cubic(double u, double h, double a, double rate_a, double b, double rate_b) {
    double v = 1 - u;
    return a * v * v * (1 + 2 * u) + b * u * u * (1 + 2 * v) +
           h * u * v * (rate_a * v - rate_b * u);
}

/* Between the descent's states: place from place and speed, speed from speed and acceleration. */
static void descent_at(const struct cw_descent *descent, double time_s,
                       struct cw_ride_state *state) {
    double step_s = descent->n > 1 ? descent->time_s[1] - descent->time_s[0] : 1;
    double place = fmax(0, time_s / step_s);
    size_t i = (size_t)place;
    if (i > descent->n - 2) i = descent->n - 2;
    double h = descent->time_s[i + 1] - descent->time_s[i];
    double u = fmin(1, fmax(0, (time_s - descent->time_s[i]) / h));
    const double *v = descent->speed_ms + i, *a = descent->acceleration_ms2 + i;
    state->s_m = cubic(u, h, descent->s_m[i], v[0], descent->s_m[i + 1], v[1]);
    state->speed_ms = cubic(u, h, v[0], a[0], v[1], a[1]);
}

struct cw_ride_state cw_ride_phase_at(const struct cw_ride_phase *phase, double time_s) {
    double t = fmin(phase->duration_s, fmax(0, time_s - phase->begin_s));
    struct cw_ride_state state = {.cadence_rpm = phase->cadence_rpm};
    if (phase->run) {
        descent_at(&phase->run->descent, t, &state);
        state.s_m = phase->s_m + phase->run->way * state.s_m;
        state.speed_ms *= phase->run->way;
    } else {
        state.speed_ms = phase->speed_ms + phase->acceleration_ms2 * t;
        state.s_m = phase->s_m + (phase->speed_ms + 0.5 * phase->acceleration_ms2 * t) * t;
    }
    state.distance_m = phase->distance_m + fabs(state.s_m - phase->s_m);
    return state;
}
