#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "motion/metric.h"
#include "outing/read.h"
#include "physics/air.h"
#include "physics/forces.h"
#include "recording/read.h"
#include "simulate/course.h"
#include "simulate/simulate.h"

static struct cw_simulated make(const struct cw_simulate_options *options) {
    struct cw_simulated simulated;
    struct cw_error error = {0};
    enum cw_status status = cw_simulate(options, &simulated, &error);
    ck_assert_msg(status == CW_OK, "%s", error.message);
    return simulated;
}

/* The options with nothing but the truth in the recording. */
static struct cw_simulate_options without_noise(void) {
    struct cw_simulate_options options = cw_simulate_options_default();
    cw_simulate_elevation(&options, CW_ELEVATION_SURVEYED);
    options.gust_sd_ms = 0;
    options.position_drift_sd_m = options.position_sd_m = 0;
    options.speed_sd_ms = 0;
    return options;
}

/* Simpson's rule over steps of equal length; n odd. */
static double simpson(const double *values, size_t n, double step) {
    double sum = 0;
    for (size_t i = 0; i < n; i++) sum += (i == 0 || i + 1 == n ? 1 : i % 2 ? 4 : 2) * values[i];
    return sum * step / 3;
}

/* Of a run's air at a height: 6.5 K/km colder going up, the pressure by the hydrostatic equation
 * (ISO 2533, clause 2), the gas constant that which the air has halfway down the road. */
static double density_at(const struct cw_simulate_options *options,
                         const struct cw_simulated *simulated, double height_m) {
    double kelvin = options->temperature_c + 273.15,
           gas = options->pressure_hpa * 100 / (simulated->density_kgm3 * kelvin),
           up_m = height_m - (options->height_m - simulated->drop_m / 2);
    return simulated->density_kgm3 *
           pow(1 - 0.0065 * up_m / kelvin, simulated->gravity_ms2 / (gas * 0.0065) - 1);
}

/* Joules that the height lost along a run gave beyond what speed, rolling, drag and bearings took:
 * the integral over the states by Simpson's rule. */
static double unexplained_j(const struct cw_simulate_options *options,
                            const struct cw_simulated *simulated,
                            const struct cw_simulated_run *run) {
    const struct cw_descent *descent = &run->descent;
    struct cw_bicycle bicycle = {.mass_kg = run->mass_kg,
                                 .wheel_inertia_kgm2 = options->wheel_inertia_kgm2,
                                 .wheel_radius_m = options->wheel_radius_m};
    struct cw_course course;
    ck_assert_int_eq(cw_course_make(options, 10, 10, &course, NULL), CW_OK);
    /* The last step is shorter than the others. */
    size_t n = descent->n % 2 ? descent->n - 2 : descent->n - 1;
    double *power = malloc(n * sizeof *power);
    for (size_t i = 0; i < n; i++) {
        double v = descent->speed_ms[i], angle = asin(cw_course_sine(&course, descent->s_m[i]));
        double air = v + options->wind_along_ms + run->gust_ms[i];
        power[i] = v * (run->crr * run->mass_kg * simulated->gravity_ms2 * cos(angle) +
                        0.5 * density_at(options, simulated, run->height_m[i]) * run->cda_m2 * air *
                            fabs(air) +
                        0.091 + 0.0087 * v);
    }
    double lost = simpson(power, n, 0.5);
    free(power);
    cw_course_free(&course);
    double v0 = descent->speed_ms[0], v1 = descent->speed_ms[n - 1];
    double kinetic = 0.5 * run->mass_kg * cw_inertia_factor(&bicycle) * (v1 * v1 - v0 * v0);
    double potential =
        run->mass_kg * simulated->gravity_ms2 * (run->height_m[0] - run->height_m[n - 1]);
    ck_assert_double_gt(potential, 30e3);
    return potential - kinetic - lost;
}

/* 40 kJ of height balance to 0.1 mJ on a straight slope in a steady wind. Simpson's rule at 0.5 s
 * does less well where slopes change, and with gusts, which are rough: a 10 000th. */
START_TEST(truth_obeys_the_energy_balance) {
    static const struct {
        const char *road;
        double gust_sd_ms, tolerance_j;
    } rows[] = {{"straight", 0, 1e-4}, {"flattening", 0, 0.1}, {"flattening", 0.15, 4}};
    for (size_t i = 0; i < 3; i++) {
        struct cw_simulate_options options = cw_simulate_options_default();
        cw_simulate_road(&options, rows[i].road, NULL);
        options.wind_along_ms = 0.7;
        options.gust_sd_ms = rows[i].gust_sd_ms;
        struct cw_simulated simulated = make(&options);
        for (size_t r = 0; r < simulated.n_runs; r++)
            ck_assert_double_eq_tol(unexplained_j(&options, &simulated, &simulated.runs[r]), 0,
                                    rows[i].tolerance_j);
        cw_simulated_free(&simulated);
    }
}
END_TEST

static bool same_column(const double *a, const double *b, size_t n) {
    return memcmp(a, b, n * sizeof *a) == 0;
}

START_TEST(seeds_reproduce) {
    struct cw_simulate_options options = cw_simulate_options_default();
    struct cw_simulated a = make(&options), b = make(&options);
    options.seed++;
    struct cw_simulated other = make(&options);
    size_t n = a.recordings[0].samples.n;
    ck_assert_uint_eq(n, b.recordings[0].samples.n);
    ck_assert(same_column(a.recordings[0].samples.speed_ms, b.recordings[0].samples.speed_ms, n));
    ck_assert(
        same_column(a.recordings[0].samples.elevation_m, b.recordings[0].samples.elevation_m, n));
    ck_assert(
        same_column(a.recordings[0].samples.latitude_deg, b.recordings[0].samples.latitude_deg, n));
    ck_assert_double_ne(a.runs[0].descent.end_time_s, other.runs[0].descent.end_time_s);
    cw_simulated_free(&a);
    cw_simulated_free(&b);
    cw_simulated_free(&other);
}
END_TEST

/* Without speed noise, elevations and positions are the very same, and the other way round. */
START_TEST(switching_a_noise_off_leaves_the_others) {
    struct cw_simulate_options options = cw_simulate_options_default();
    struct cw_simulated all = make(&options);
    options.speed_sd_ms = 0;
    options.cadence = false;
    struct cw_simulated no_speed = make(&options);
    const struct cw_samples *a = &all.recordings[0].samples, *b = &no_speed.recordings[0].samples;
    ck_assert_uint_eq(a->n, b->n);
    ck_assert(same_column(a->elevation_m, b->elevation_m, a->n));
    ck_assert(same_column(a->longitude_deg, b->longitude_deg, a->n));
    ck_assert(!same_column(a->speed_ms, b->speed_ms, a->n));
    options = cw_simulate_options_default();
    options.elevation_drift_sd_m = options.position_drift_sd_m = 0;
    struct cw_simulated no_drift = make(&options);
    b = &no_drift.recordings[0].samples;
    ck_assert(same_column(a->speed_ms, b->speed_ms, a->n));
    ck_assert(!same_column(a->elevation_m, b->elevation_m, a->n));
    cw_simulated_free(&all);
    cw_simulated_free(&no_speed);
    cw_simulated_free(&no_drift);
}
END_TEST

/* The recording against the same without that noise: speed 0.1 m/s white, elevations drifting by
 * 0.3 m with a correlation of exp(-1/200) from second to second. */
START_TEST(noise_has_the_stated_size) {
    struct cw_simulate_options options = without_noise();
    options.n_order = 40;
    for (size_t i = 0; i < 40; i++) options.order[i] = 0;
    struct cw_simulated clean = make(&options);
    options.speed_sd_ms = 0.1;
    options.elevation_drift_sd_m = 0.3;
    options.elevation_drift_time_s = 20;
    options.position_sd_m = 0.2;
    struct cw_simulated noisy = make(&options);
    const struct cw_samples *a = &clean.recordings[0].samples, *b = &noisy.recordings[0].samples;
    ck_assert_uint_eq(a->n, b->n);
    double speed2 = 0, up2 = 0, lagged = 0, across2 = 0, before = NAN;
    size_t moving = 0;
    for (size_t i = 0; i < a->n; i++) {
        double up = b->elevation_m[i] - a->elevation_m[i];
        up2 += up * up;
        if (i) lagged += up * before;
        before = up;
        double metres = cw_metric_distance(a->latitude_deg[i], a->longitude_deg[i],
                                           b->latitude_deg[i], b->longitude_deg[i]);
        across2 += metres * metres;
        if (a->speed_ms[i] < 1) continue;
        moving++;
        speed2 += (b->speed_ms[i] - a->speed_ms[i]) * (b->speed_ms[i] - a->speed_ms[i]);
    }
    ck_assert_uint_gt(moving, 10000);
    ck_assert_double_eq_tol(sqrt(speed2 / (double)moving), 0.1, 0.003);
    /* Some 850 independent stretches. */
    ck_assert_double_eq_tol(sqrt(up2 / (double)a->n), 0.3, 0.025);
    ck_assert_double_eq_tol(lagged / up2, exp(-1.0 / 20), 0.01);
    ck_assert_double_eq_tol(sqrt(across2 / (double)a->n / 2), 0.2, 0.005);
    cw_simulated_free(&clean);
    cw_simulated_free(&noisy);
}
END_TEST

/* Sample of a recording nearest to a time. */
static size_t sample_at(const struct cw_samples *samples, double time_s) {
    size_t i = 0;
    while (i + 1 < samples->n && samples->time_s[i + 1] <= time_s) i++;
    return i;
}

/* On -5 C and +30 C a barometric altimeter shows more and less than the true drop: true =
 * indicated T/T_ISA, the air being lighter by its vapour and gravity a little off standard. */
START_TEST(barometers_read_wrong_in_cold_and_heat) {
    const double temperatures_c[] = {-5, 30};
    for (size_t k = 0; k < 2; k++) {
        struct cw_simulate_options options = without_noise();
        options.elevation = CW_ELEVATION_BAROMETRIC;
        options.temperature_c = temperatures_c[k];
        options.humidity_percent = 0;
        options.pressure_hpa = 960;
        struct cw_simulated simulated = make(&options);
        const struct cw_simulated_run *run = &simulated.runs[1];
        const struct cw_samples *samples = &simulated.recordings[0].samples;
        size_t top = sample_at(samples, run->start_s - 10);
        size_t bottom = sample_at(samples, run->end_s + 15);
        ck_assert_double_eq(samples->speed_ms[top], 0);
        ck_assert_double_eq(samples->speed_ms[bottom], 0);
        double east_m, north_m;
        struct cw_metric metric =
            cw_metric_make(samples->latitude_deg[top], samples->longitude_deg[top]);
        cw_metric_raise(&metric, 470);
        cw_metric_to_plane(&metric, samples->latitude_deg[bottom], samples->longitude_deg[bottom],
                           &east_m, &north_m);
        double true_drop_m = 0.06 * hypot(east_m, north_m); /* the road is straight, at -6 % */
        double indicated_m = samples->elevation_m[top] - samples->elevation_m[bottom];
        double standard_k = cw_isa_temperature_k(cw_isa_pressure_altitude_m(96000));
        double expected =
            (temperatures_c[k] + 273.15) / standard_k * 9.80665 / simulated.gravity_ms2;
        /* CIPM-2007 is 0.06 % off the standard atmosphere's ideal gas in the cold; positions and
         * heights come in steps of 1 cm and 1 mm. */
        ck_assert_double_eq_tol(true_drop_m / indicated_m, expected, 1e-3);
        ck_assert_double_eq_tol(true_drop_m / indicated_m, simulated.barometric_scale, 1e-4);
        cw_simulated_free(&simulated);
    }
}
END_TEST

/* A lag L holds falling elevations back by L dh/dt once it has settled. */
START_TEST(lag_holds_elevations_back) {
    struct cw_simulate_options options = without_noise();
    struct cw_simulated prompt = make(&options);
    options.elevation_lag_s = 3;
    struct cw_simulated late = make(&options);
    const struct cw_samples *a = &prompt.recordings[0].samples, *b = &late.recordings[0].samples;
    size_t i = sample_at(a, prompt.runs[0].start_s + 60);
    double fall_ms = (a->elevation_m[i + 2] - a->elevation_m[i - 8]) / 10;
    ck_assert_double_lt(fall_ms, -0.6);
    ck_assert_double_eq_tol(b->elevation_m[i] - a->elevation_m[i], -3 * fall_ms, 0.03);
    cw_simulated_free(&prompt);
    cw_simulated_free(&late);
}
END_TEST

START_TEST(speed_and_distance_are_true_without_noise) {
    struct cw_simulate_options options = without_noise();
    options.speed_scale = 1.01;
    struct cw_simulated simulated = make(&options);
    const struct cw_simulated_run *run = &simulated.runs[2];
    const struct cw_samples *samples = &simulated.recordings[0].samples;
    size_t i = sample_at(samples, run->start_s + 40), j = i + 20;
    double sum_m = 0.5 * (samples->speed_ms[i] + samples->speed_ms[j]);
    for (size_t k = i + 1; k < j; k++) sum_m += samples->speed_ms[k];
    ck_assert_double_eq_tol(samples->distance_m[j] - samples->distance_m[i], sum_m, 0.05);
    /* The state nearest to a whole run after the sample, from the truth itself. */
    double t = samples->time_s[i] - run->start_s;
    size_t at = (size_t)(t / 0.5);
    double part = t / 0.5 - (double)at;
    double speed_ms = (1 - part) * run->descent.speed_ms[at] + part * run->descent.speed_ms[at + 1];
    ck_assert_double_eq_tol(samples->speed_ms[i] / speed_ms, 1.01, 2e-4);
    options.speed = CW_SIMULATE_SPEED_DOPPLER;
    struct cw_simulated doppler = make(&options);
    ck_assert_double_eq_tol(doppler.recordings[0].samples.speed_ms[i] / samples->speed_ms[i],
                            cos(atan(0.06)), 1e-4);
    cw_simulated_free(&simulated);
    cw_simulated_free(&doppler);
}
END_TEST

START_TEST(held_starts_run_outs_and_recordings) {
    struct cw_simulate_options options = cw_simulate_options_default();
    cw_simulate_road(&options, "dip", NULL);
    options.start_speed_ms = 0;
    options.n_recordings = 3;
    options.irregular = true;
    options.cda_scatter_percent = 2;
    struct cw_simulated simulated = make(&options);
    ck_assert_uint_eq(simulated.n_recordings, 3);
    ck_assert_str_eq(simulated.outing.recordings[2], "ride-3.tcx");
    for (size_t r = 0; r < simulated.n_runs; r++) {
        const struct cw_simulated_run *run = &simulated.runs[r];
        ck_assert(run->descent.stopped);
        ck_assert_double_eq(run->descent.speed_ms[0], 0);
        ck_assert_double_eq(run->descent.end_speed_ms, 0);
        ck_assert_double_ne(run->cda_m2, options.setups[run->setup].cda_m2);
        const struct cw_samples *samples = &simulated.recordings[run->recording].samples;
        ck_assert_double_lt(samples->time_s[0], run->start_s);
        ck_assert_double_gt(samples->time_s[samples->n - 1], run->end_s);
    }
    double last_s = -INFINITY;
    for (size_t k = 0; k < simulated.n_recordings; k++) {
        const struct cw_samples *samples = &simulated.recordings[k].samples;
        for (size_t i = 0; i < samples->n; i++) {
            ck_assert_double_gt(samples->time_s[i], last_s);
            last_s = samples->time_s[i];
        }
    }
    cw_simulated_free(&simulated);
}
END_TEST

/* What is written reads back as it was in memory. */
START_TEST(files_hold_what_memory_holds) {
    struct cw_simulate_options options = cw_simulate_options_default();
    options.gzip = true;
    struct cw_simulated simulated = make(&options);
    char directory[] = "/tmp/coastwise-simulate-XXXXXX", path[128];
    ck_assert_ptr_nonnull(mkdtemp(directory));
    struct cw_error error = {0};
    ck_assert_msg(!cw_simulate_write(&options, &simulated, directory, &error), "%s", error.message);
    struct cw_outing outing;
    snprintf(path, sizeof path, "%s/outing.ini", directory);
    ck_assert_msg(cw_outing_read(path, &outing, &error) >= 0, "%s", error.message);
    ck_assert_uint_eq(outing.order.n, 8);
    ck_assert_str_eq(outing.setups[outing.order.setup[1]].name, "jacket");
    ck_assert_double_eq(outing.air.pressure_hpa, options.pressure_hpa);
    struct cw_recording recording;
    ck_assert_msg(cw_recording_read(outing.recordings[0], &recording, &error) >= 0, "%s",
                  error.message);
    const struct cw_samples *a = &simulated.recordings[0].samples, *b = &recording.samples;
    ck_assert_uint_eq(a->n, b->n);
    for (size_t i = 0; i < a->n; i++) {
        ck_assert_double_eq_tol(a->time_s[i], b->time_s[i], 1e-6);
        ck_assert_double_eq_tol(a->latitude_deg[i], b->latitude_deg[i], 1e-12);
        ck_assert_double_eq_tol(a->elevation_m[i], b->elevation_m[i], 1e-9);
        ck_assert_double_eq_tol(a->speed_ms[i], b->speed_ms[i], 1e-9);
        ck_assert_double_eq_tol(a->distance_m[i], b->distance_m[i], 1e-9);
        ck_assert_double_eq(a->cadence_rpm[i], b->cadence_rpm[i]);
    }
    ck_assert(recording.has_cadence && recording.has_speed && recording.has_distance);
    cw_recording_free(&recording);
    cw_outing_free(&outing);
    const char *names[] = {"outing.ini", "truth.json", "ride.tcx.gz"};
    for (size_t i = 0; i < 3; i++) {
        snprintf(path, sizeof path, "%s/%s", directory, names[i]);
        ck_assert_int_eq(unlink(path), 0);
    }
    ck_assert_int_eq(rmdir(directory), 0); /* nothing else is left behind */
    cw_simulated_free(&simulated);
}
END_TEST

START_TEST(what_cannot_be_made_up_is_said) {
    struct cw_simulate_options options = cw_simulate_options_default();
    struct cw_simulated simulated;
    struct cw_error error = {0};
    options.setups[1].cda_m2 = 0;
    ck_assert_int_eq(cw_simulate(&options, &simulated, &error), CW_E_ARGUMENT);
    ck_assert_str_eq(error.message, "setup jacket: cda_m2 is 0, outside 0.05 to 2");
    cw_simulated_free(&simulated);
    options = cw_simulate_options_default();
    options.order[3] = 7;
    ck_assert_int_eq(cw_simulate(&options, &simulated, &error), CW_E_ARGUMENT);
    options = cw_simulate_options_default();
    options.pressure_hpa = NAN;
    ck_assert_int_eq(cw_simulate(&options, &simulated, &error), CW_E_ARGUMENT);
    options = cw_simulate_options_default();
    options.start_speed_ms = 0;
    options.segments[0].slope_percent = -0.2;
    ck_assert_int_eq(cw_simulate(&options, &simulated, &error), CW_E_DATA);
    cw_simulated_free(&simulated);
    ck_assert_int_eq(cw_simulate_road(&options, "loop", &error), CW_E_ARGUMENT);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("simulate_simulate");
    TCase *cases = tcase_create("simulate_simulate");
    tcase_add_test(cases, truth_obeys_the_energy_balance);
    tcase_add_test(cases, seeds_reproduce);
    tcase_add_test(cases, switching_a_noise_off_leaves_the_others);
    tcase_add_test(cases, noise_has_the_stated_size);
    tcase_add_test(cases, barometers_read_wrong_in_cold_and_heat);
    tcase_add_test(cases, lag_holds_elevations_back);
    tcase_add_test(cases, speed_and_distance_are_true_without_noise);
    tcase_add_test(cases, held_starts_run_outs_and_recordings);
    tcase_add_test(cases, files_hold_what_memory_holds);
    tcase_add_test(cases, what_cannot_be_made_up_is_said);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
