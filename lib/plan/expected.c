#include "plan/expected.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/noise_search.h"
#include "runs/options.h"
#include "simulate/ride.h"

/* So long no run takes that anybody means to repeat. */
static const double time_limit_s = 1800;
/* Of a descent's steps: far below what a recorder shows. */
static const double relative_error = 1e-8;

enum cw_status cw_plan_coast(const struct cw_plan_day *day, double start_speed_ms, double step_s,
                             struct cw_descent *descent, struct cw_error *error) {
    struct cw_surroundings surroundings = {.density_kgm3 = day->place.density_kgm3,
                                           .gravity_ms2 = day->place.gravity_ms2,
                                           .wind_along_ms = day->outing.wind_along_ms,
                                           .column = day->place.column};
    struct cw_descent_road road = cw_plan_ground_road(day->ground);
    struct cw_descent_options how = cw_descent_options_default();
    how.start_speed_ms = start_speed_ms;
    how.step_s = step_s;
    how.relative_error = relative_error;
    how.time_limit_s = time_limit_s;
    enum cw_status status =
        cw_descent_run(&day->bicycle, &surroundings, &road, &how, descent, error);
    if (status < 0 || descent->n > 1) return status;
    cw_descent_free(descent);
    return cw_error_set(error, CW_E_DATA, NULL, 0,
                        "the run never moves: from a speed of %.3g m/s the road sets nothing "
                        "rolling; give --start-speed-ms, or a steeper road",
                        start_speed_ms);
}

/* ---- the ride ---- */

struct riding {
    const struct cw_plan_day *day;
    struct cw_simulated_run *runs;
};

/* What a ride calls (simulate/ride.h). */
static enum cw_status coast(size_t number, double clock_s, void *state, struct cw_error *error) {
    struct riding *riding = state;
    (void)clock_s;
    return cw_plan_coast(riding->day, riding->day->options->start_speed_ms,
                         riding->day->options->interval_s, &riding->runs[number].descent, error);
}

static void tell_run(const struct cw_simulated_run *ridden, size_t setup, size_t number,
                     struct cw_run *run) {
    const struct cw_descent *d = &ridden->descent;
    *run = (struct cw_run){.number = (long)number + 1,
                           .start_s = ridden->start_s,
                           .duration_s = d->end_time_s,
                           .distance_m = d->end_s_m,
                           .ends = d->stopped ? CW_END_STOP : CW_END_BRAKE,
                           .kept = true,
                           .road = CW_ROAD_MAIN,
                           .noted = {NAN, NAN, NAN},
                           .logged = {NAN, NAN},
                           .setup = setup};
}

enum cw_status cw_plan_ride(const struct cw_plan_day *day, const size_t *order, size_t n,
                            struct cw_plan_expected *expected, struct cw_error *error) {
    struct cw_simulate_options options = *day->options;
    struct cw_ride ride = {0};
    *expected = (struct cw_plan_expected){0};
    options.n_order = n;
    options.n_recordings = 1;
    options.both_ways = false;
    memcpy(options.order, order, n * sizeof *order);
    expected->ridden = calloc(n, sizeof *expected->ridden);
    expected->runs.at = calloc(n, sizeof *expected->runs.at);
    if (!expected->ridden || !expected->runs.at) return cw_error_memory(error);
    expected->runs.n = expected->runs.capacity = n;
    expected->runs.n_roads = 1;
    struct riding riding = {day, expected->ridden};
    enum cw_status status = cw_ride_make(&options, day->ground->length_m, NULL, expected->ridden,
                                         coast, &riding, &ride, error);
    for (size_t i = 0; i < n && status >= 0; i++)
        tell_run(&expected->ridden[i], order[i], i, &expected->runs.at[i]);
    if (status >= 0) {
        const struct cw_ride_phase *last = &ride.phases[ride.n - 1];
        expected->end_s = last->begin_s + last->duration_s;
    }
    cw_ride_free(&ride);
    return status;
}

/* ---- the fit ---- */

/* How far behind its first place the rider was before, who pedalled off evenly. */
static void pedal_off(const struct cw_simulate_options *options, double speed_ms,
                      double *before_m) {
    double rate = options->push_ms2, whole_s = speed_ms / rate;
    for (size_t k = 0; k < CW_BEFORE; k++) {
        double t = fmin((double)(k + 1), whole_s);
        before_m[k] = speed_ms * t - 0.5 * rate * t * t;
    }
}

/* A run as the recorder is expected to have it. */
static enum cw_status sample(const struct cw_plan_day *day, const struct cw_plan_look *look,
                             const struct cw_simulated_run *ridden, struct cw_run_data *data,
                             struct cw_error *error) {
    const struct cw_descent *d = &ridden->descent;
    size_t first, last;
    /* The last state is the end of the road, wherever that falls between two samples. */
    cw_prepare_part(d->n > 2 ? d->n - 1 : d->n, d->time_s, d->speed_ms, day->by_energy, false,
                    &first, &last);
    /* The finder ends a run where it is slower than that (runs/options.h). */
    const double least_ms = cw_runs_options_default().minimum_speed_ms;
    while (last > first && d->speed_ms[last] < least_ms) last--;
    while (first < last && d->s_m[first] < look->from_m) first++;
    while (last > first && d->s_m[last] > look->to_m) last--;
    size_t n = last - first + 1;
    if (n < 4)
        return cw_error_set(error, CW_E_DATA, NULL, 0,
                            "a run of %.0f s is too short to tell anything: give a longer road",
                            d->end_time_s);
    double *height = malloc(2 * n * sizeof *height);
    if (!height) return cw_error_memory(error);
    double *none = height + n;
    for (size_t j = 0; j < n; j++) {
        height[j] = day->outing.elevation == CW_ELEVATION_LEVEL
                        ? NAN
                        : cw_plan_ground_height(d->s_m[first + j], day->ground);
        none[j] = NAN;
    }
    enum cw_status status = cw_run_data_make(
        n, d->time_s + first, d->speed_ms + first, d->s_m + first,
        day->speed ? d->speed_ms + first : none, d->s_m + first, height, data, error);
    free(height);
    if (status < 0) return status;
    for (size_t j = 0; j < data->n; j++)
        data->curve_1m[j] = cw_plan_ground_curve(day->ground, data->s_m[j]);
    pedal_off(day->options, d->speed_ms[first], data->before_m);
    data->height_step_m = day->options->elevation_step_m;
    data->bicycle = day->bicycle;
    data->bicycle.cda_m2 = data->bicycle.crr = 0;
    data->surroundings = (struct cw_surroundings){.density_kgm3 = day->place.density_kgm3,
                                                  .gravity_ms2 = day->place.gravity_ms2,
                                                  .wind_along_ms = day->outing.wind_along_ms,
                                                  .column = day->place.column};
    data->temperature_c = day->place.temperature_c;
    data->mirror_m = day->ground->length_m;
    return CW_OK;
}

static enum cw_status prepare(const struct cw_plan_day *day, const struct cw_plan_look *look,
                              const struct cw_plan_expected *expected, struct cw_prepared *prepared,
                              struct cw_error *error) {
    size_t n = expected->runs.n;
    *prepared = (struct cw_prepared){.place = day->place,
                                     .n_roads = 1,
                                     .n_devices = 1,
                                     .devices = {""},
                                     .n_tyres = look->tyres ? day->outing.n_setups : 1,
                                     .temperature_c = day->place.temperature_c};
    prepared->air = calloc(1, sizeof *prepared->air);
    prepared->data = calloc(n, sizeof *prepared->data);
    prepared->roads = calloc(1, sizeof *prepared->roads);
    prepared->tyres = calloc(prepared->n_tyres, sizeof *prepared->tyres);
    prepared->setup = calloc(n, sizeof *prepared->setup);
    if (!prepared->air || !prepared->data || !prepared->roads || !prepared->tyres ||
        !prepared->setup)
        return cw_error_memory(error);
    const struct cw_air *air = &day->outing.air;
    prepared->air[0] = (struct cw_recording_air){
        .place = day->place,
        .told_by = CW_AIR_OUTING,
        .shared = {air->temperature_uncertainty_c, 100 * air->pressure_uncertainty_hpa,
                   air->humidity_uncertainty_percent / 100, air->lapse_uncertainty_k_km / 1000}};
    for (size_t t = 0; t < prepared->n_tyres; t++)
        prepared->tyres[t] = look->tyres ? day->outing.setups[t].name : "all";
    for (size_t i = 0; i < n; i++) {
        struct cw_run_data *data = &prepared->data[i];
        enum cw_status status = sample(day, look, &expected->ridden[i], data, error);
        if (status < 0) return status;
        prepared->n++;
        data->run = i;
        data->road = CW_ROAD_MAIN;
        data->setup = prepared->setup[i] = expected->runs.at[i].setup;
        if (look->tyres) data->tyres = data->setup;
    }
    return CW_OK;
}

enum cw_status cw_plan_expect(const struct cw_plan_day *day, const struct cw_plan_look *look,
                              struct cw_plan_expected *expected, struct cw_error *error) {
    struct cw_ridden input = {.outing = &day->outing,
                              .n_recordings = 1,
                              .runs = &expected->runs,
                              .threads = day->threads};
    struct cw_prepared prepared = {0};
    double seconds = 0;
    struct cw_reml *held = calloc(1, sizeof *held);
    if (!held) return cw_error_memory(error);
    for (size_t i = 0; i < expected->runs.n; i++) seconds += expected->runs.at[i].duration_s;
    enum cw_status status = cw_plan_noise_known(day->noise, seconds, held, error);
    if (look->gusts_true && isfinite(day->noise->gust_sd_ms)) {
        held->parameter[CW_NOISE_GUST_SD] = log(day->noise->gust_sd_ms);
        held->parameter[CW_NOISE_GUST_TIME] = log(day->noise->gust_time_s);
    }
    if (status >= 0) status = prepare(day, look, expected, &prepared, error);
    if (status >= 0)
        status =
            cw_fit_held(&input, &prepared, held, look->depth, look->answer, &expected->fit, error);
    else
        cw_prepared_free(&prepared);
    free(held);
    return status;
}

void cw_plan_expected_free(struct cw_plan_expected *expected) {
    cw_fit_free(&expected->fit);
    for (size_t i = 0; expected->ridden && i < expected->runs.n; i++)
        cw_descent_free(&expected->ridden[i].descent);
    free(expected->ridden);
    cw_runs_free(&expected->runs);
    *expected = (struct cw_plan_expected){0};
}
