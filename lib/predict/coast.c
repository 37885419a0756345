#include "predict/coast.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "physics/descent.h"
#include "physics/steady.h"
#include "physics/stopping.h"
#include "stats/root.h"

static const double day_s = 86400;
/* Allowed a step over a profile, which is not known so well: a ten-thousandth of a second over 10
 * km. */
static const double profile_error = 1e-8;
/* A road that is level for as long as it takes. */
static const double level_m = 1e5;
#define FLAT_MS (40 / 3.6)
#define FLAT_MPH_MS (25 * 0.44704)
static const double as_fast = 1e-9;
/* Trial steps look past the ends of a profile, where it goes anywhere. */
static const double most_sine = 0.9;

/* A stretch that is ridden without a corner in it. */
struct leg {
    const struct cw_predict_road *road;
    const struct cw_coast_state *state;
    double from_m, sine; /* sine: NaN where the profile says it */
};

static double leg_sine(double s_m, const void *of) {
    const struct leg *leg = of;
    double sine = isnan(leg->sine) ? cw_predict_road_sine(leg->road, leg->from_m + s_m) : leg->sine;
    sine = leg->state->height_scale * sine + leg->state->tilt_m / leg->road->length_m;
    return fmin(most_sine, fmax(-most_sine, sine));
}

static double leg_height(double s_m, const void *of) {
    const struct leg *leg = of;
    return cw_predict_road_height(leg->road, leg->from_m + s_m);
}

/* How far a ride has come. */
struct ride {
    double time_s, s_m, speed_ms;
    double top_speed_ms, top_m, top_s;
    bool stands, moved;
};

static enum cw_status keep(const struct leg *leg, const struct cw_descent *descent, double time_s,
                           bool last, struct cw_predict_trace *trace, struct cw_error *error) {
    /* The end of a leg is the start of the next one; its own state there is kept. */
    size_t n = descent->n - !last;
    double **columns[] = {&trace->time_s,   &trace->s_m,      &trace->height_m,
                          &trace->slope_ds, &trace->speed_ms, &trace->acceleration_ms2};
    for (size_t k = 0; k < sizeof columns / sizeof *columns; k++) {
        double *grown = realloc(*columns[k], (trace->n + n) * sizeof *grown);
        if (!grown) return cw_error_memory(error);
        *columns[k] = grown;
    }
    for (size_t i = 0; i < n; i++) {
        size_t at = trace->n++;
        trace->time_s[at] = time_s + descent->time_s[i];
        trace->s_m[at] = leg->from_m + descent->s_m[i];
        trace->height_m[at] = leg_height(descent->s_m[i], leg);
        trace->slope_ds[at] = leg_sine(descent->s_m[i], leg);
        trace->speed_ms[at] = descent->speed_ms[i];
        trace->acceleration_ms2[at] = descent->acceleration_ms2[i];
    }
    return CW_OK;
}

/* Rides on to to_m, or a stand before. */
static enum cw_status ride_leg(const struct cw_predict_road *road,
                               const struct cw_coast_state *state, double to_m, double sine,
                               bool last, struct ride *ride, struct cw_predict_trace *trace,
                               struct cw_error *error) {
    struct leg leg = {road, state, ride->s_m, sine};
    struct cw_descent_road way = {leg_height, leg_sine, &leg, to_m - ride->s_m};
    struct cw_descent_options options = cw_descent_options_default();
    struct cw_descent descent;
    options.start_speed_ms = ride->speed_ms;
    options.power_w = state->power_w;
    options.time_limit_s = day_s;
    options.step_s = trace ? 1 : 60;
    options.ends_only = !trace;
    options.first_s = floor(ride->time_s) + 1 - ride->time_s; /* the trace has whole seconds */
    if (isnan(sine)) options.relative_error = profile_error;
    enum cw_status status =
        cw_descent_run(&state->bicycle, &state->surroundings, &way, &options, &descent, error);
    if (status >= 0 && trace)
        status = keep(&leg, &descent, ride->time_s, last || descent.stopped, trace, error);
    if (status < 0) goto cleanup;
    /* What comes near its terminal speed comes nearer all the way, whatever rounding says. */
    if (descent.end_speed_ms >= (1 - as_fast) * descent.top_speed_ms) {
        descent.top_speed_ms = descent.end_speed_ms;
        descent.top_s_m = descent.end_s_m;
        descent.top_time_s = descent.end_time_s;
    }
    if (descent.top_speed_ms > ride->top_speed_ms) {
        ride->top_speed_ms = descent.top_speed_ms;
        ride->top_m = ride->s_m + descent.top_s_m;
        ride->top_s = ride->time_s + descent.top_time_s;
    }
    ride->moved = ride->moved || descent.end_s_m > 0;
    ride->stands = descent.stopped;
    ride->time_s += descent.end_time_s;
    ride->s_m = descent.stopped ? ride->s_m + descent.end_s_m : to_m;
    ride->speed_ms = descent.end_speed_ms;
cleanup:
    cw_descent_free(&descent);
    return status;
}

/* Rides from where it is to to_m. */
static enum cw_status ride_to(const struct cw_predict_road *road,
                              const struct cw_coast_state *state, double to_m, struct ride *ride,
                              struct cw_predict_trace *trace, struct cw_error *error) {
    enum cw_status status = CW_OK;
    if (road->profile)
        return ride_leg(road, state, to_m, NAN, to_m >= road->known_m, ride, trace, error);
    for (size_t i = 0; i < road->n_stretches && !ride->stands && status >= 0; i++) {
        const struct cw_predict_stretch *stretch = &road->stretches[i];
        status = ride_leg(road, state, stretch->end_m, stretch->sine, i + 1 == road->n_stretches,
                          ride, trace, error);
    }
    return status;
}

static struct ride start(const struct cw_coast_state *state) {
    return (struct ride){.speed_ms = state->start_speed_ms, .top_speed_ms = state->start_speed_ms};
}

/* How far it rolls on, unpedalled, from speed_ms where the road is level from its end; NaN where it
 * does not stand in the end, as in a tailwind. */
static double level_runout(const struct cw_predict_road *from, const struct cw_coast_state *state,
                           double speed_ms) {
    struct cw_predict_stretch level = {level_m, 0};
    struct cw_predict_road road = {
        .length_m = level_m, .known_m = level_m, .n_stretches = 1, .stretches = &level};
    struct cw_coast_state on = *state;
    struct ride ride;
    on.surroundings =
        cw_surroundings_at(&state->surroundings, cw_predict_road_height(from, from->length_m));
    on.start_speed_ms = speed_ms;
    on.power_w = on.tilt_m = 0;
    ride = start(&on);
    if (cw_steady_speed_ms(&on.bicycle, &on.surroundings, 0, 0) > 0) return NAN;
    if (ride_to(&road, &on, level_m, &ride, NULL, NULL) < 0 || !ride.stands) return NAN;
    return ride.s_m;
}

/* ---- what something else would be worth ---- */

/* Seconds to the road's end; far more than any that arrives where it does not. */
static const double never_s = 1e7;

static double time_with(const struct cw_predict_road *road, const struct cw_coast_state *state,
                        double cda_m2) {
    struct cw_coast_state with = *state;
    struct ride ride;
    with.bicycle.cda_m2 = cda_m2;
    ride = start(&with);
    if (ride_to(road, &with, road->length_m, &ride, NULL, NULL) < 0 || ride.stands) return never_s;
    return ride.time_s;
}

struct wanted {
    const struct cw_predict_road *road;
    const struct cw_coast_state *state;
    double time_s;
};

static double too_late(double cda_m2, void *of) {
    const struct wanted *wanted = of;
    return time_with(wanted->road, wanted->state, cda_m2) - wanted->time_s;
}

/* The CdA that takes so long; NaN where none from 0 to that of no rider does. */
static double cda_for(const struct cw_predict_road *road, const struct cw_coast_state *state,
                      double time_s) {
    static const double most_m2 = 10;
    struct wanted wanted = {road, state, time_s};
    return cw_root(too_late, &wanted, 0, most_m2, 1e-12);
}

static double worth_of_mass(const struct cw_predict_road *road, const struct cw_coast_state *state,
                            double kg) {
    struct cw_coast_state heavier = *state;
    heavier.bicycle.mass_kg += kg;
    double time_s = time_with(road, &heavier, state->bicycle.cda_m2);
    if (time_s >= never_s) return NAN;
    return cda_for(road, state, time_s) - state->bicycle.cda_m2;
}

/* ---- all of it ---- */

static double tangent(double sine) {
    return sine / sqrt(1 - sine * sine);
}

static void tell_steady(const struct cw_predict_road *road, const struct cw_coast_state *state,
                        double quantity[CW_PREDICT_QUANTITIES]) {
    const struct cw_bicycle *bicycle = &state->bicycle;
    const struct cw_surroundings *surroundings = &state->surroundings;
    double steepest = state->height_scale * road->steepest_sine + state->tilt_m / road->length_m;
    double terminal = cw_steady_speed_ms(bicycle, surroundings, state->power_w, steepest);
    if (isfinite(terminal)) quantity[CW_PREDICT_TERMINAL_SPEED] = terminal;
    quantity[CW_PREDICT_FLAT_POWER] = cw_steady_power_w(bicycle, surroundings, FLAT_MS, 0);
    quantity[CW_PREDICT_FLAT_POWER_MPH] = cw_steady_power_w(bicycle, surroundings, FLAT_MPH_MS, 0);
    if (!(state->power_w > 0)) return;
    double flat = cw_steady_speed_ms(bicycle, surroundings, state->power_w, 0);
    if (isfinite(flat)) quantity[CW_PREDICT_FLAT_SPEED] = flat;
}

enum cw_status cw_coast_predict(const struct cw_predict_road *road,
                                const struct cw_coast_state *state,
                                const struct cw_coast_asked *asked,
                                double quantity[CW_PREDICT_QUANTITIES], enum cw_predict_end *end,
                                struct cw_predict_trace *trace, struct cw_error *error) {
    struct ride ride = start(state);
    for (size_t q = 0; q < CW_PREDICT_QUANTITIES; q++) quantity[q] = NAN;
    quantity[CW_PREDICT_CDA] = state->bicycle.cda_m2;
    quantity[CW_PREDICT_CRR] = state->bicycle.crr;
    quantity[CW_PREDICT_MASS] = state->bicycle.mass_kg;
    quantity[CW_PREDICT_DENSITY] = state->surroundings.density_kgm3;
    tell_steady(road, state, quantity);
    enum cw_status status = ride_to(road, state, road->length_m, &ride, trace, error);
    if (status < 0) return status;
    *end = !ride.stands ? CW_PREDICT_ARRIVES : ride.moved ? CW_PREDICT_STANDS : CW_PREDICT_NEVER;
    if (!ride.stands) {
        quantity[CW_PREDICT_TIME] = ride.time_s;
        quantity[CW_PREDICT_MEAN_SPEED] = road->length_m / ride.time_s;
        quantity[CW_PREDICT_END_SPEED] = ride.speed_ms;
        quantity[CW_PREDICT_LEVEL_RUNOUT] = level_runout(road, state, ride.speed_ms);
        if (road->known_m > road->length_m)
            status = ride_to(road, state, road->known_m, &ride, trace, error);
        if (status < 0) return status;
    }
    if (!ride.moved) return CW_OK;
    if (ride.stands) {
        quantity[CW_PREDICT_RUNOUT] = ride.s_m;
        quantity[CW_PREDICT_RUNOUT_TIME] = ride.time_s;
        if (ride.s_m >= road->lowest_m && road->lowest_m > 0)
            quantity[CW_PREDICT_PAST_LOWEST] = ride.s_m - road->lowest_m;
    }
    quantity[CW_PREDICT_TOP_SPEED] = ride.top_speed_ms;
    quantity[CW_PREDICT_TOP_PLACE] = ride.top_m;
    quantity[CW_PREDICT_TOP_TIME] = ride.top_s;
    double stopping =
        cw_stopping_distance(ride.top_speed_ms, tangent(cw_predict_road_sine(road, ride.top_m)));
    if (isfinite(stopping)) quantity[CW_PREDICT_STOPPING] = stopping;
    if (asked->wanted_time_s > 0)
        quantity[CW_PREDICT_WANTED_CDA] = cda_for(road, state, asked->wanted_time_s);
    if (asked->worth_kg > 0)
        quantity[CW_PREDICT_WORTH_CDA] = worth_of_mass(road, state, asked->worth_kg);
    return CW_OK;
}

void cw_predict_trace_free(struct cw_predict_trace *trace) {
    free(trace->time_s);
    free(trace->s_m);
    free(trace->height_m);
    free(trace->slope_ds);
    free(trace->speed_ms);
    free(trace->acceleration_ms2);
    *trace = (struct cw_predict_trace){0};
}
