#include "simulate/simulate.h"

#include <stdlib.h>

#include "physics/air.h"
#include "simulate/coast.h"
#include "simulate/course.h"
#include "simulate/day.h"
#include "simulate/describe.h"
#include "simulate/device.h"
#include "simulate/faults.h"
#include "simulate/known.h"
#include "simulate/ride.h"

#define FASTEST_MS 60 /* how fast a run may end: the road goes on to brake from it */

/* The road, and how far it goes on at both ends. */
static enum cw_status lay_out(const struct cw_simulate_options *options, struct cw_course *course,
                              struct cw_error *error) {
    double brake_m = FASTEST_MS * FASTEST_MS / (2 * options->brake_ms2) + 5;
    double push_m = cw_ride_push_distance_m(options) + 5;
    return options->both_ways
               ? cw_course_make(options, push_m + brake_m, push_m + brake_m, course, error)
               : cw_course_make(options, push_m, brake_m, course, error);
}

/* What somebody rides in and records. */
struct scene {
    const struct cw_course *course;
    const struct cw_day *days;
    struct cw_breeze *breeze; /* whoever rides first makes it */
};

/* The runs, the ride around them and what is recorded of it. ahead: who is followed, or NULL. *made
 * are as many runs as the order has; free them as those of a made-up outing, also after an
 * error. */
static enum cw_status ride(const struct cw_simulate_options *options, const struct scene *scene,
                           const struct cw_simulated_run *ahead, struct cw_simulated_run **made,
                           struct cw_recording *recordings, struct cw_error *error) {
    struct cw_coaster coaster = {0};
    struct cw_ride ridden = {0};
    struct cw_faults faults = {0};
    struct cw_simulated_run *runs = *made = calloc(options->n_order, sizeof *runs);
    if (!runs) return cw_error_memory(error);
    enum cw_status status =
        cw_coaster_open(options, scene->course, scene->days, scene->breeze, runs, &coaster, error);
    if (!status)
        status = cw_ride_make(options, scene->course->length_m, ahead, runs, cw_coaster_coast,
                              &coaster, &ridden, error);
    if (!status) status = cw_faults_make(options, &ridden, runs, &faults, error);
    struct cw_device_scene device = {scene->course, &ridden, runs, &faults, scene->days};
    if (!status) status = cw_device_record(options, &device, recordings, error);
    cw_faults_free(&faults);
    cw_ride_free(&ridden);
    cw_coaster_close(&coaster);
    return status;
}

/* The companion's runs, whose recordings follow the rider's. */
static enum cw_status ride_along(const struct cw_simulate_options *options,
                                 const struct scene *scene, struct cw_simulated *simulated,
                                 struct cw_error *error) {
    struct cw_simulate_options companion = cw_simulate_options_companion(options);
    size_t first = cw_simulate_recordings(options);
    enum cw_status status = ride(&companion, scene, simulated->runs, &simulated->companion_runs,
                                 simulated->recordings + first, error);
    for (size_t i = 0; i < simulated->n_runs && !status; i++) {
        struct cw_simulated_run *run = &simulated->companion_runs[i];
        run->recording += first;
        run->setup = options->n_setups;
    }
    return status;
}

enum cw_status cw_simulate(const struct cw_simulate_options *options,
                           struct cw_simulated *simulated, struct cw_error *error) {
    *simulated = (struct cw_simulated){0};
    struct cw_course course = {0};
    struct cw_breeze breeze = {0};
    struct cw_day *days = NULL;
    enum cw_status status = cw_simulate_options_check(options, error);
    if (status) return status;

    status = lay_out(options, &course, error);
    if (status) goto cleanup;
    simulated->length_m = course.length_m;
    simulated->drop_m = options->height_m - cw_course_at(&course, course.length_m).height_m;
    double middle_m = options->height_m - simulated->drop_m / 2;
    struct cw_day stated = cw_day_stated(options, middle_m);
    simulated->density_kgm3 = stated.density_kgm3;
    simulated->gravity_ms2 = stated.gravity_ms2;
    simulated->barometric_scale =
        cw_barometric_scale(stated.density_kgm3, stated.pressure_pa, stated.gravity_ms2);

    size_t n = cw_simulate_recordings(options), all = options->companion ? 2 * n : n;
    days = calloc(n, sizeof *days);
    simulated->recordings = calloc(all, sizeof *simulated->recordings);
    if (!days || !simulated->recordings) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    simulated->n_recordings = all;
    simulated->n_runs = options->n_order;
    status = cw_days_fill(options, middle_m, days, error);
    struct scene scene = {&course, days, &breeze};
    if (!status)
        status = ride(options, &scene, NULL, &simulated->runs, simulated->recordings, error);
    if (!status && options->companion) status = ride_along(options, &scene, simulated, error);
    if (!status) status = cw_known_fill(options, &breeze, course.length_m, simulated->runs, error);
    if (!status && options->air_log)
        status = cw_known_log(options, &breeze, simulated->runs, &simulated->log, error);
    if (!status) status = cw_simulate_describe(options, simulated, error);
cleanup:
    cw_breeze_free(&breeze);
    cw_course_free(&course);
    free(days);
    return status;
}

static void free_runs(struct cw_simulated_run *runs, size_t n) {
    for (size_t i = 0; i < n && runs; i++) {
        cw_descent_free(&runs[i].descent);
        free(runs[i].gust_ms);
        free(runs[i].height_m);
    }
    free(runs);
}

void cw_simulated_free(struct cw_simulated *simulated) {
    for (size_t i = 0; i < simulated->n_recordings; i++)
        cw_recording_free(&simulated->recordings[i]);
    free_runs(simulated->runs, simulated->n_runs);
    free_runs(simulated->companion_runs, simulated->n_runs);
    free(simulated->recordings);
    free(simulated->log.time_s);
    free(simulated->log.wind_along_ms);
    cw_outing_free(&simulated->outing);
    *simulated = (struct cw_simulated){0};
}
