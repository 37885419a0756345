/* The air of each recording of an outing: what the file says of it, what devices say of it. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/recording_air.h"
#include "fit/workings.h"
#include "made.h"
#include "outing/air_log.h"
#include "physics/air.h"

enum { N = 4 };

static struct made made;
static struct cw_error error;
static struct cw_recording_air air[N + 1];
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
    memset(&air[N], 0, sizeof air[N]);
    cw_recording_air_make(&ridden, &place, air);
    ck_assert_double_eq(air[N].place.height_m, 0); /* of no recording */
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
    struct cw_own_air own = {.recording = 2,
                             .air = {.temperature_c = 5,
                                     .pressure_hpa = NAN,
                                     .humidity_percent = 90,
                                     .temperature_uncertainty_c = 0.5,
                                     .pressure_uncertainty_hpa = NAN,
                                     .humidity_uncertainty_percent = 10,
                                     .lapse_k_km = NAN,
                                     .lapse_uncertainty_k_km = NAN,
                                     .pressure_sea_level_hpa = NAN}};
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

/* A log beside the road, a row for 10 s, in which it warms by 3 C an hour and the pressure falls;
 * for a while it has no temperature. Of it a run has what was then, but for what rows blur. */
static const double warming_c_s = 3.0 / 3600, falling_hpa_s = -2.0 / 3600;
static double log_begins_s;

static double logged_c(const struct cw_run *run) {
    return 6 + warming_c_s * (run->start_s + run->duration_s / 2 - log_begins_s);
}

static void log_make(double hole_from_s, double hole_to_s) {
    const struct cw_runs *runs = &made.of->runs;
    struct cw_air_log *log = made.of->log = calloc(1, sizeof *log);
    ck_assert_ptr_nonnull(log);
    log_begins_s = runs->at[0].start_s - 600;
    log->n = (size_t)(runs->at[runs->n - 1].start_s - log_begins_s) / 10 + 120;
    double **columns[] = {&log->from_s, &log->to_s, &log->temperature_c, &log->pressure_hpa};
    for (size_t c = 0; c < sizeof columns / sizeof *columns; c++) {
        *columns[c] = malloc(log->n * sizeof(double));
        ck_assert_ptr_nonnull(*columns[c]);
    }
    for (size_t i = 0; i < log->n; i++) {
        double since_s = 10 * (double)i + 5;
        log->from_s[i] = log_begins_s + 10 * (double)i;
        log->to_s[i] = log->from_s[i] + 10;
        bool hole = log->from_s[i] >= hole_from_s && log->to_s[i] <= hole_to_s;
        log->temperature_c[i] = hole ? NAN : 6 + warming_c_s * since_s;
        log->pressure_hpa[i] = 958 + falling_hpa_s * since_s;
    }
}

START_TEST(a_log_tells_each_run_s_air) {
    const struct cw_runs *runs = &made.of->runs;
    const struct cw_run *first = &runs->at[0], *second = &runs->at[1];
    log_make(second->start_s - 60, second->start_s + second->duration_s + 60);
    made.of->outing.air.temperature_c = NAN;
    made.of->outing.air.pressure_uncertainty_hpa = 0.4; /* a pressure that the file gives */
    tell();
    struct cw_ridden ridden = cw_analysed_ridden(made.of);
    double all_c = 0;
    for (size_t r = 0; r < N; r++) {
        double sum_c = 0, n = 0;
        for (size_t i = 0; i < runs->n; i++) {
            if (runs->at[i].recording != r || !runs->at[i].kept || i == 1) continue;
            sum_c += logged_c(&runs->at[i]);
            n++;
        }
        ck_assert_double_gt(n, 0);
        ck_assert_double_eq_tol(air[r].place.temperature_c, sum_c / n, 2e-3);
        ck_assert_double_eq(air[r].shared[CW_AIR_TEMPERATURE],
                            1); /* what thermometers are off by */
        ck_assert_double_eq(air[r].own[CW_AIR_TEMPERATURE], 0);
        ck_assert_int_eq(air[r].told_by, CW_AIR_LOG);
        ck_assert(!air[r].place.logged[CW_AIR_HUMIDITY]);
        ck_assert_double_eq(air[r].place.humidity, 0.6); /* as it was said, the log having none */
        all_c += air[r].place.temperature_c / N;
    }
    ck_assert_double_eq_tol(place.temperature_c, all_c, 1e-9);
    ck_assert_double_gt(place.pressure_pa, 95000);
    ck_assert_double_lt(place.pressure_pa, 95800);
    struct cw_place own = cw_recording_air_of_run(&ridden, &air[first->recording], first),
                    none = cw_recording_air_of_run(&ridden, &air[second->recording], second);
    double middle_s = first->start_s + first->duration_s / 2 - log_begins_s;
    ck_assert_double_eq_tol(own.temperature_c, logged_c(first), 2e-3);
    ck_assert_double_eq_tol(own.pressure_pa, 100 * (958 + falling_hpa_s * middle_s), 0.1);
    ck_assert_double_eq_tol(own.density_kgm3,
                            cw_air_density(own.temperature_c, own.pressure_pa, 0.6), 1e-12);
    /* where the log has a hole a run has its recording's mean */
    ck_assert_double_eq(none.temperature_c, air[second->recording].place.temperature_c);
    ck_assert_double_lt(none.pressure_pa, own.pressure_pa);
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
    tcase_add_test(tests, a_log_tells_each_run_s_air);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? 1 : 0;
}
