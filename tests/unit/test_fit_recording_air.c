/* The air of each recording of an outing: what the file says of it, what devices say of it. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "fit/recording_air.h"
#include "fit/workings.h"
#include "made.h"
#include "physics/air.h"

enum { N = 4 };

static struct made made;
static struct cw_error error;
static struct cw_recording_air air[N];
static struct cw_place place;

static void begin(void) {
    struct cw_simulate_options options = cw_simulate_options_default();
    options.n_recordings = N;
    options.temperature_c = 12;
    ck_assert_int_ge(made_begin(&made, &options, &error), CW_OK);
    ck_assert_int_ge(made_find(&made, NULL, &error), CW_OK);
}

static void end(void) {
    made_free(&made);
}

static void device(size_t recording, double temperature_c) {
    struct cw_samples *samples = &made.of->recordings[recording].samples;
    for (size_t i = 0; i < samples->n; i++) samples->temperature_c[i] = temperature_c;
}

static void tell(void) {
    struct cw_ridden ridden = cw_analysed_ridden(made.of);
    place = (struct cw_place){.height_m = 400,
                              .temperature_c = 12,
                              .pressure_pa = 96500,
                              .humidity = 0.6,
                              .gravity_ms2 = 9.807};
    cw_recording_air_make(&ridden, &place, air);
}

START_TEST(one_air_for_all) {
    device(0, 40); /* one thermometer of four, and no other to hold against it */
    tell();
    for (size_t r = 0; r < N; r++) {
        ck_assert_double_eq(air[r].place.temperature_c, 12);
        ck_assert_double_eq(air[r].shared[CW_AIR_TEMPERATURE], 1);
        ck_assert_double_eq(air[r].own[CW_AIR_TEMPERATURE], 0);
        ck_assert_int_eq(air[r].told_by, CW_AIR_OUTING);
        ck_assert_double_eq(cw_air_parts_error(&air[r].place, air[r].own), 0);
    }
}
END_TEST

/* Of one day: devices that differ by no more than devices do say nothing. */
START_TEST(alike_devices_say_nothing) {
    for (size_t r = 0; r < N; r++) device(r, 14.5 + 0.6 * (double)r);
    tell();
    for (size_t r = 0; r < N; r++) ck_assert_double_eq(air[r].place.temperature_c, 12);
}
END_TEST

START_TEST(days_differ_as_their_devices_do) {
    static const double true_c[N] = {4, 9, 15, 20}; /* 12 on average */
    for (size_t r = 0; r < N; r++) device(r, true_c[r] + 2);
    tell();
    for (size_t r = 0; r < N; r++) {
        ck_assert_double_eq_tol(air[r].place.temperature_c, true_c[r], 0.5);
        ck_assert_double_gt(air[r].own[CW_AIR_TEMPERATURE], 1.2);
        ck_assert_double_lt(air[r].own[CW_AIR_TEMPERATURE], 1.5);
        ck_assert_double_eq(air[r].shared[CW_AIR_TEMPERATURE], 1);
        ck_assert_int_eq(air[r].told_by, CW_AIR_DEVICE);
        ck_assert_double_eq_tol(air[r].place.density_kgm3,
                                cw_air_density(air[r].place.temperature_c, 96500, 0.6), 1e-12);
        /* 1.4 C of 285 K */
        ck_assert_double_eq_tol(cw_air_parts_error(&air[r].place, air[r].own), 0.0050, 0.0005);
    }
    ck_assert_double_gt(air[0].place.density_kgm3, 1.05 * air[3].place.density_kgm3);
    ck_assert_double_lt(air[0].place.barometric_scale, 0.96 * air[3].place.barometric_scale);
}
END_TEST

START_TEST(a_device_alone_reads_too_warm) {
    made.of->outing.air.temperature_c = NAN;
    made.of->outing.air.temperature_uncertainty_c = 8;
    device(0, 17);
    tell();
    for (size_t r = 0; r < N; r++) {
        ck_assert_double_eq(air[r].place.temperature_c, 15);
        ck_assert_double_eq_tol(air[r].shared[CW_AIR_TEMPERATURE], hypot(1.5, 1.5), 1e-12);
    }
}
END_TEST

START_TEST(what_the_file_says_of_a_recording_comes_first) {
    struct cw_own_air own = {2, {5, NAN, 90, 0.5, NAN, 10, NAN}};
    made.of->outing.own_air = malloc(sizeof own);
    ck_assert_ptr_nonnull(made.of->outing.own_air);
    made.of->outing.own_air[0] = own;
    made.of->outing.n_own_air = 1;
    device(2, 30);
    tell();
    ck_assert_double_eq(air[2].place.temperature_c, 5);
    ck_assert_double_eq(air[2].place.humidity, 0.9);
    ck_assert_double_eq(air[2].place.pressure_pa, 96500);
    ck_assert_double_eq(air[2].own[CW_AIR_TEMPERATURE], 0.5);
    ck_assert_double_eq(air[2].shared[CW_AIR_TEMPERATURE], 0);
    ck_assert_double_eq(air[2].shared[CW_AIR_PRESSURE], 100);
    ck_assert_int_eq(air[2].told_by, CW_AIR_RECORDING);
    ck_assert_double_eq(air[1].place.temperature_c, 12);
    /* The whole fit follows it: density of the runs, uncertainty of their CdA. */
    ck_assert_msg(cw_analysis_fit(&made.analysis, &error) >= 0, "%s", error.message);
    const struct cw_fit *fit = &made.of->fit;
    for (size_t i = 0; i < fit->n_runs; i++) {
        size_t recording = made.of->runs.at[fit->runs[i].run].recording;
        double ratio = fit->runs[i].density_kgm3 / fit->recorders[0].density_kgm3;
        ck_assert_double_eq_tol(ratio, recording == 2 ? 285.15 / 278.15 : 1, 4e-3);
        /* By the density; and by tyres that are 0.5 C warmer, of 1.2 % a kelvin of what they take,
         * which on such a road is a tenth to a fifth of what drag does. */
        double part = fit->workings->budget.own_air[i] / fit->workings->joint.cda_m2[i];
        ck_assert_double_ge(part, recording == 2 ? 0.5 / 278 + 0.1 * 0.006 : 0);
        ck_assert_double_le(part, recording == 2 ? 0.5 / 278 + 0.2 * 0.006 : 0);
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/recording_air");
    TCase *tests = tcase_create("recording_air");
    tcase_set_timeout(tests, 60);
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, one_air_for_all);
    tcase_add_test(tests, alike_devices_say_nothing);
    tcase_add_test(tests, days_differ_as_their_devices_do);
    tcase_add_test(tests, a_device_alone_reads_too_warm);
    tcase_add_test(tests, what_the_file_says_of_a_recording_comes_first);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? 1 : 0;
}
