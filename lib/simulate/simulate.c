#include "simulate/simulate.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/print.h"
#include "physics/air.h"
#include "physics/gravity.h"
#include "simulate/course.h"
#include "simulate/device.h"
#include "simulate/random.h"
#include "simulate/ride.h"

#define STATE_STEP_S 0.5 /* of the descents' states and the gusts' corners */
#define TIME_LIMIT_S 900
#define FASTEST_MS 60 /* how fast the bottom may be reached: the road goes on to brake from it */

static double course_sine(double s_m, const void *state) {
    return cw_course_sine(state, s_m);
}

static double course_height(double s_m, const void *state) {
    return cw_course_at(state, s_m).height_m;
}

/* Coasts one run: its gust, the descent, and what the gust and the height were along it. */
static enum cw_status coast(const struct cw_simulate_options *options,
                            const struct cw_course *course,
                            const struct cw_surroundings *surroundings, size_t number,
                            struct cw_gust_series *gust, struct cw_simulated_run *run,
                            struct cw_error *error) {
    struct cw_random random = cw_random_make(options->seed, CW_STREAM_GUST + number);
    if (!random.state) return cw_error_memory(error);
    cw_gust_series_fill(gust, options->gust_sd_ms, options->gust_time_s, &random);
    cw_random_free(&random);

    struct cw_bicycle bicycle = {.mass_kg = run->mass_kg,
                                 .cda_m2 = run->cda_m2,
                                 .crr = run->crr,
                                 .wheel_inertia_kgm2 = options->wheel_inertia_kgm2,
                                 .wheel_radius_m = options->wheel_radius_m};
    struct cw_descent_road road = {course_height, course_sine, course, course->length_m};
    struct cw_descent_options how = cw_descent_options_default();
    how.start_speed_ms = options->start_speed_ms;
    how.step_s = STATE_STEP_S;
    how.time_limit_s = TIME_LIMIT_S;
    how.gust = cw_gust_series_at;
    how.gust_state = gust;
    how.gust_knot_s = gust->step_s;
    enum cw_status status =
        cw_descent_run(&bicycle, surroundings, &road, &how, &run->descent, error);
    if (status) return status;
    if (run->descent.n < 2)
        return cw_error_set(error, CW_E_DATA, NULL, 0,
                            "run %zu does not start rolling: the road is too flat at its top",
                            number + 1);
    run->gust_ms = malloc(run->descent.n * sizeof *run->gust_ms);
    run->height_m = malloc(run->descent.n * sizeof *run->height_m);
    if (!run->gust_ms || !run->height_m) return cw_error_memory(error);
    for (size_t i = 0; i < run->descent.n; i++) {
        run->gust_ms[i] = cw_gust_series_at(run->descent.time_s[i], gust);
        run->height_m[i] = course_height(run->descent.s_m[i], course);
    }
    return CW_OK;
}

static enum cw_status coast_all(const struct cw_simulate_options *options,
                                const struct cw_course *course, struct cw_simulated *simulated,
                                struct cw_error *error) {
    struct cw_surroundings surroundings = {.density_kgm3 = simulated->density_kgm3,
                                           .gravity_ms2 = simulated->gravity_ms2,
                                           .wind_along_ms = options->wind_along_ms};
    struct cw_gust_series gust = {.n = (size_t)(TIME_LIMIT_S / STATE_STEP_S) + 2,
                                  .step_s = STATE_STEP_S};
    struct cw_random scatter = cw_random_make(options->seed, CW_STREAM_SCATTER);
    gust.value_ms = malloc(gust.n * sizeof *gust.value_ms);
    simulated->runs = calloc(options->n_order, sizeof *simulated->runs);
    enum cw_status status = CW_OK;
    if (!scatter.state || !gust.value_ms || !simulated->runs) status = cw_error_memory(error);
    for (size_t i = 0; i < options->n_order && !status; i++) {
        const struct cw_simulate_setup *setup = &options->setups[options->order[i]];
        struct cw_simulated_run *run = &simulated->runs[i];
        run->setup = options->order[i];
        run->mass_kg = options->rider_mass_kg + options->bike_mass_kg + setup->load_kg;
        run->crr = setup->crr;
        run->cda_m2 =
            setup->cda_m2 * exp(options->cda_scatter_percent / 100 * cw_random_normal(&scatter));
        simulated->n_runs++;
        status = coast(options, course, &surroundings, i, &gust, run, error);
    }
    free(gust.value_ms);
    cw_random_free(&scatter);
    return status;
}

static char *recording_name(const struct cw_simulate_options *options, size_t number) {
    char name[64], part[24] = "";
    if (options->n_recordings > 1) cw_print(part, sizeof part, "-%zu", number);
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
        .rider_mass_kg = options->rider_mass_kg,
        .rider_mass_uncertainty_kg = 0.3,
        .bike_mass_kg = options->bike_mass_kg,
        .bike_mass_uncertainty_kg = 0.1,
        .wheel_inertia_kgm2 = options->wheel_inertia_kgm2,
        .wheel_radius_m = options->wheel_radius_m,
        .air.temperature_c = options->temperature_c,
        .air.pressure_hpa = options->pressure_hpa,
        .air.humidity_percent = options->humidity_percent,
        .air.temperature_uncertainty_c = 1,
        .air.pressure_uncertainty_hpa = 1,
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
    outing->recordings = calloc(options->n_recordings, sizeof *outing->recordings);
    outing->setups = calloc(options->n_setups, sizeof *outing->setups);
    outing->order = calloc(options->n_order, sizeof *outing->order);
    bool whole =
        outing->file && outing->name && outing->recordings && outing->setups && outing->order;
    for (size_t i = 0; i < options->n_recordings && whole; i++) {
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
        outing->order[outing->n_order++] = options->order[i];
    return whole ? CW_OK : cw_error_memory(error);
}

enum cw_status cw_simulate(const struct cw_simulate_options *options,
                           struct cw_simulated *simulated, struct cw_error *error) {
    *simulated = (struct cw_simulated){0};
    struct cw_course course = {0};
    struct cw_ride ride = {0};
    enum cw_status status = cw_simulate_options_check(options, error);
    if (status) return status;

    double beyond_m = FASTEST_MS * FASTEST_MS / (2 * options->brake_ms2);
    status =
        cw_course_make(options, cw_ride_push_distance_m(options) + 5, beyond_m + 5, &course, error);
    if (status) goto cleanup;
    simulated->length_m = course.length_m;
    simulated->drop_m = options->height_m - cw_course_at(&course, course.length_m).height_m;
    double middle_m = options->height_m - simulated->drop_m / 2;
    double pressure_pa = options->pressure_hpa * 100;
    simulated->density_kgm3 =
        cw_air_density(options->temperature_c, pressure_pa, options->humidity_percent / 100);
    simulated->gravity_ms2 = cw_gravity(options->latitude_deg, middle_m);
    simulated->barometric_scale =
        cw_barometric_scale(simulated->density_kgm3, pressure_pa, simulated->gravity_ms2);

    status = coast_all(options, &course, simulated, error);
    if (status) goto cleanup;
    status = cw_ride_make(options, simulated->runs, &ride, error);
    if (status) goto cleanup;
    simulated->recordings = calloc(options->n_recordings, sizeof *simulated->recordings);
    if (!simulated->recordings) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    simulated->n_recordings = options->n_recordings;
    struct cw_device_air air = {pressure_pa, simulated->density_kgm3, simulated->gravity_ms2,
                                middle_m};
    status = cw_device_record(options, &course, &ride, &air, simulated->recordings, error);
    if (!status) status = describe(options, simulated, error);
cleanup:
    cw_ride_free(&ride);
    cw_course_free(&course);
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
