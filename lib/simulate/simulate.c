#include "simulate/simulate.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/print.h"
#include "physics/air.h"
#include "simulate/coast.h"
#include "simulate/course.h"
#include "simulate/day.h"
#include "simulate/device.h"
#include "simulate/faults.h"
#include "simulate/ride.h"

#define FASTEST_MS 60 /* how fast a run may end: the road goes on to brake from it */

static char *recording_name(const struct cw_simulate_options *options, size_t number) {
    char name[64], part[24] = "";
    if (cw_simulate_recordings(options) > 1) cw_print(part, sizeof part, "-%zu", number);
    cw_print(name, sizeof name, "ride%s.%s%s", part, cw_format_word(options->format),
             options->gzip ? ".gz" : "");
    return strdup(name);
}

/* What the outing file says: the truth, as a careful rider would know it. */
static enum cw_status describe(const struct cw_simulate_options *options,
                               struct cw_simulated *simulated, struct cw_error *error) {
    struct cw_outing *outing = &simulated->outing;
    *outing = (struct cw_outing){
        .elevation = options->elevation,
        .rider.mass_kg = options->rider_mass_kg,
        .rider.mass_uncertainty_kg = 0.3,
        .rider.bike_mass_kg = options->bike_mass_kg,
        .rider.bike_mass_uncertainty_kg = 0.1,
        .rider.wheel_inertia_kgm2 = options->wheel_inertia_kgm2,
        .rider.wheel_radius_m = options->wheel_radius_m,
        .air.temperature_c = options->temperature_c,
        .air.pressure_hpa = options->pressure_hpa,
        .air.humidity_percent = options->humidity_percent,
        .air.temperature_uncertainty_c = hypot(1, options->temperature_sd_c),
        .air.pressure_uncertainty_hpa = hypot(1, options->pressure_sd_hpa),
        .air.humidity_uncertainty_percent = 10,
        .wind_along_ms = options->stated_wind_ms,
        .wind_uncertainty_ms = 0.2,
        .elevation_given = true,
        .elevation_uncertainty_m = options->elevation == CW_ELEVATION_LEVEL ? 0.01 : NAN,
        .crr = NAN,
        .crr_uncertainty = NAN,
    };
    outing->file = strdup("outing.ini");
    outing->name = strdup(options->name);
    outing->recordings = calloc(simulated->n_recordings, sizeof *outing->recordings);
    outing->setups = calloc(options->n_setups, sizeof *outing->setups);
    outing->order.setup = calloc(options->n_order, sizeof *outing->order.setup);
    outing->rider.name = strdup("");
    bool whole = outing->file && outing->name && outing->recordings && outing->setups &&
                 outing->order.setup && outing->rider.name;
    for (size_t i = 0; i < simulated->n_recordings && whole; i++) {
        outing->recordings[i] = recording_name(options, i + 1);
        outing->n_recordings++;
        simulated->recordings[i].file = recording_name(options, i + 1);
        whole = outing->recordings[i] && simulated->recordings[i].file;
    }
    for (size_t i = 0; i < options->n_setups && whole; i++) {
        struct cw_setup *setup = &outing->setups[i];
        setup->name = strdup(options->setups[i].name);
        setup->description = strdup("");
        setup->tyres = strdup(options->setups[i].tyres);
        setup->load_kg = options->setups[i].load_kg;
        outing->n_setups++;
        whole = setup->name && setup->description && setup->tyres;
    }
    for (size_t i = 0; i < options->n_order && whole; i++)
        outing->order.setup[outing->order.n++] = options->order[i];
    return whole ? CW_OK : cw_error_memory(error);
}

/* The road, and how far it goes on at both ends. */
static enum cw_status lay_out(const struct cw_simulate_options *options, struct cw_course *course,
                              struct cw_error *error) {
    double brake_m = FASTEST_MS * FASTEST_MS / (2 * options->brake_ms2) + 5;
    double push_m = cw_ride_push_distance_m(options) + 5;
    return options->both_ways
               ? cw_course_make(options, push_m + brake_m, push_m + brake_m, course, error)
               : cw_course_make(options, push_m, brake_m, course, error);
}

/* The runs and the ride around them. */
static enum cw_status ride(const struct cw_simulate_options *options,
                           const struct cw_course *course, const struct cw_day *days,
                           struct cw_simulated *simulated, struct cw_ride *ride,
                           struct cw_error *error) {
    struct cw_coaster coaster = {0};
    simulated->runs = calloc(options->n_order, sizeof *simulated->runs);
    if (!simulated->runs) return cw_error_memory(error);
    simulated->n_runs = options->n_order;
    enum cw_status status =
        cw_coaster_open(options, course, days, simulated->runs, &coaster, error);
    if (!status)
        status = cw_ride_make(options, course->length_m, simulated->runs, cw_coaster_coast,
                              &coaster, ride, error);
    cw_coaster_close(&coaster);
    return status;
}

enum cw_status cw_simulate(const struct cw_simulate_options *options,
                           struct cw_simulated *simulated, struct cw_error *error) {
    *simulated = (struct cw_simulated){0};
    struct cw_course course = {0};
    struct cw_ride ridden = {0};
    struct cw_faults faults = {0};
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

    size_t n = cw_simulate_recordings(options);
    days = calloc(n, sizeof *days);
    simulated->recordings = calloc(n, sizeof *simulated->recordings);
    if (!days || !simulated->recordings) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    simulated->n_recordings = n;
    status = cw_days_fill(options, middle_m, days, error);
    if (!status) status = ride(options, &course, days, simulated, &ridden, error);
    if (!status) status = cw_faults_make(options, &ridden, simulated->runs, &faults, error);
    if (status) goto cleanup;
    struct cw_device_scene scene = {&course, &ridden, simulated->runs, &faults, days};
    status = cw_device_record(options, &scene, simulated->recordings, error);
    if (!status) status = describe(options, simulated, error);
cleanup:
    cw_faults_free(&faults);
    cw_ride_free(&ridden);
    cw_course_free(&course);
    free(days);
    return status;
}

void cw_simulated_free(struct cw_simulated *simulated) {
    for (size_t i = 0; i < simulated->n_recordings; i++)
        cw_recording_free(&simulated->recordings[i]);
    for (size_t i = 0; i < simulated->n_runs; i++) {
        cw_descent_free(&simulated->runs[i].descent);
        free(simulated->runs[i].gust_ms);
        free(simulated->runs[i].height_m);
    }
    free(simulated->recordings);
    free(simulated->runs);
    cw_outing_free(&simulated->outing);
    *simulated = (struct cw_simulated){0};
}
