/* What was known on a made-up hill beside the recordings, and the companion. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "simulate/known.h"
#include "simulate/simulate.h"
#include "simulate/wind.h"

static struct cw_simulated make(const struct cw_simulate_options *options) {
    struct cw_simulated simulated;
    struct cw_error error = {0};
    ck_assert_msg(!cw_simulate(options, &simulated, &error), "%s", error.message);
    return simulated;
}

static struct cw_simulate_options breezy(void) {
    struct cw_simulate_options options = cw_simulate_options_default();
    options.wind_along_ms = 0.7;
    options.run_wind_sd_ms = 0.5;
    options.wander_wind_sd_ms = 0.3;
    return options;
}

START_TEST(a_breeze_goes_straight_between_its_points) {
    struct cw_breeze breeze = {0};
    ck_assert_double_eq(cw_breeze_at(&breeze, 5), 0);
    ck_assert_int_eq(cw_breeze_add(&breeze, 10, 1.5, NULL), CW_OK);
    ck_assert_int_eq(cw_breeze_add(&breeze, 30, -0.5, NULL), CW_OK);
    ck_assert_int_eq(cw_breeze_add(&breeze, 70, 0.3, NULL), CW_OK);
    ck_assert_double_eq(cw_breeze_at(&breeze, -100), 1.5);
    ck_assert_double_eq(cw_breeze_at(&breeze, 10), 1.5);
    ck_assert_double_eq_tol(cw_breeze_at(&breeze, 15), 1.0, 1e-12);
    ck_assert_double_eq_tol(cw_breeze_at(&breeze, 50), -0.1, 1e-12);
    ck_assert_double_eq(cw_breeze_at(&breeze, 1e6), 0.3);
    ck_assert_double_eq_tol(cw_breeze_mean(&breeze, 10, 30), 0.5, 1e-12);
    ck_assert_double_eq_tol(cw_breeze_mean(&breeze, 10, 70), (20 * 0.5 - 40 * 0.1) / 60, 1e-12);
    ck_assert_double_eq_tol(cw_breeze_mean(&breeze, 40, 40), -0.3, 1e-12);
    cw_breeze_free(&breeze);
}
END_TEST

/* Who meets a breeze that another made finds what that one found, gusts apart. */
START_TEST(a_breeze_is_met_as_it_was_made) {
    struct cw_simulate_options options = breezy();
    options.gust_sd_ms = 0;
    struct cw_breeze breeze = {0};
    struct cw_wind first, second;
    double made[4][2];
    ck_assert_int_eq(cw_wind_open(&options, 0.5, 100, &breeze, &first, NULL), CW_OK);
    for (size_t i = 0; i < 4; i++) {
        ck_assert_int_eq(cw_wind_begin(&first, i, 400.0 * (double)i, NULL), CW_OK);
        for (int k = 0; k < 2; k++) made[i][k] = cw_gust_series_at(8 + 60 * k, &first.series);
        ck_assert_int_eq(cw_wind_end(&first, 80.3, NULL), CW_OK);
    }
    size_t n = breeze.n;
    ck_assert_int_eq(cw_wind_open(&options, 0.5, 100, &breeze, &second, NULL), CW_OK);
    for (size_t i = 0; i < 4; i++) {
        ck_assert_int_eq(cw_wind_begin(&second, i, 400.0 * (double)i + 8, NULL), CW_OK);
        for (int k = 0; k < 2; k++)
            ck_assert_double_eq_tol(cw_gust_series_at(60 * k, &second.series), made[i][k], 1e-12);
        ck_assert_int_eq(cw_wind_end(&second, 90, NULL), CW_OK);
    }
    ck_assert_uint_eq(breeze.n, n);
    cw_wind_close(&first);
    cw_wind_close(&second);
    cw_breeze_free(&breeze);
}
END_TEST

/* Without an error of their own, notes are the wind that was met, gusts apart, whatever the way. */
START_TEST(notes_are_of_the_wind_that_was_met) {
    struct cw_simulate_options options = breezy();
    options.gust_sd_ms = options.note_sd_ms = 0;
    options.note_wind = options.both_ways = true;
    cw_simulate_road(&options, "dip", NULL);
    struct cw_simulated made = make(&options);
    ck_assert_uint_eq(made.outing.wind_ms.n, made.n_runs);
    for (size_t i = 0; i < made.n_runs; i++) {
        const struct cw_simulated_run *run = &made.runs[i];
        /* wind_ms is the mean of the states, whose last step is short. */
        ck_assert_double_eq_tol(run->shared_wind_ms, run->way * run->wind_ms, 0.005);
        ck_assert_double_eq_tol(run->noted_wind_ms, run->shared_wind_ms, 0.005);
        ck_assert_double_eq(made.outing.wind_ms.value[i], run->noted_wind_ms);
    }
    cw_simulated_free(&made);
}
END_TEST

/* Over 400 runs; four standard errors of a mean square. */
START_TEST(notes_err_as_is_said) {
    struct cw_simulate_options options = breezy();
    options.note_wind = true;
    options.note_sd_ms = 0.25;
    options.n_order = CW_SIMULATE_RUNS_MAX;
    options.n_segments = 1;
    options.segments[0] = (struct cw_simulate_segment){120, -8, 0};
    options.climb_speed_ms = 10;
    for (size_t i = 0; i < options.n_order; i++) options.order[i] = i % 2;
    struct cw_simulated made = make(&options);
    double sum2 = 0;
    for (size_t i = 0; i < made.n_runs; i++)
        sum2 += pow(made.runs[i].noted_wind_ms - made.runs[i].shared_wind_ms, 2);
    ck_assert_double_eq_tol(sum2 / CW_SIMULATE_RUNS_MAX / 0.0625, 1,
                            4 * sqrt(2.0 / CW_SIMULATE_RUNS_MAX));
    ck_assert_double_eq(made.outing.wind_ms.uncertainty, 0.25);
    cw_simulated_free(&made);
}
END_TEST

/* Each row against the breeze that it is the mean of. */
START_TEST(a_log_holds_means) {
    struct cw_simulate_options options = cw_simulate_options_default();
    options.wind_along_ms = 0.5;
    options.log_gust_sd_ms = 0;
    options.log_factor = 0.6;
    options.log_step_s = 90;
    options.n_order = 2;
    struct cw_simulated_run runs[2] = {
        {.start_s = options.start_s + 60.7},
        {.start_s = options.start_s + 900, .end_s = options.start_s + 1000}};
    struct cw_breeze breeze = {0};
    struct cw_simulated_log log;
    cw_breeze_add(&breeze, 0, 1, NULL);
    cw_breeze_add(&breeze, 1200, -0.4, NULL);
    ck_assert_int_eq(cw_known_log(&options, &breeze, runs, &log, NULL), CW_OK);
    ck_assert_uint_gt(log.n, (1000 - 60) / 90);
    ck_assert_double_le(log.time_s[0], runs[0].start_s);
    ck_assert_double_ge(log.time_s[log.n - 1], runs[1].end_s);
    for (size_t i = 0; i < log.n; i++) {
        double middle = fmin(fmax(log.time_s[i] - 45 - options.start_s, 0), 1200);
        ck_assert_double_eq_tol(log.wind_along_ms[i], 0.6 * (0.5 + 1 - 1.4 * middle / 1200), 0.02);
        if (i) ck_assert_double_eq(log.time_s[i] - log.time_s[i - 1], 90);
    }
    free(log.time_s);
    free(log.wind_along_ms);
    cw_breeze_free(&breeze);
}
END_TEST

START_TEST(tape_and_watch_are_of_the_runs) {
    struct cw_simulate_options options = cw_simulate_options_default();
    options.tape = options.watch = true;
    options.tape_sd_m = options.watch_sd_s = options.start_speed_ms = 0;
    cw_simulate_road(&options, "dip", NULL);
    struct cw_simulated made = make(&options);
    ck_assert(made.outing.starts_at_mark);
    for (size_t i = 0; i < made.n_runs; i++) {
        const struct cw_simulated_run *run = &made.runs[i], *first = &made.runs[0];
        const struct cw_descent *d = &run->descent;
        ck_assert_double_eq_tol(run->taped_m - first->taped_m, d->end_s_m - first->descent.end_s_m,
                                0.011);
        ck_assert_double_eq(made.outing.runout_m.value[i], run->taped_m);
        /* 0.35 of the road at the mean speed between the marks, by the states there. */
        double part_m = 0.35 * made.length_m, fastest = 0, slowest = INFINITY;
        for (size_t k = 0; k < d->n; k++) {
            if (d->s_m[k] < 0.25 * made.length_m || d->s_m[k] > 0.6 * made.length_m) continue;
            fastest = fmax(fastest, d->speed_ms[k]);
            slowest = fmin(slowest, d->speed_ms[k]);
        }
        ck_assert_double_gt(run->timed_s, part_m / fastest);
        ck_assert_double_lt(run->timed_s, part_m / slowest);
    }
    cw_simulated_free(&made);

    options.start_speed_ms = 4; /* runs to the end of another road stand nowhere */
    cw_simulate_road(&options, "straight", NULL);
    made = make(&options);
    ck_assert(!made.outing.starts_at_mark);
    for (size_t i = 0; i < made.n_runs; i++) ck_assert(isnan(made.runs[i].taped_m));
    ck_assert_uint_eq(made.outing.runout_m.n, 0);
    cw_simulated_free(&made);
}
END_TEST

START_TEST(a_companion_coasts_along) {
    struct cw_simulate_options options = breezy();
    options.n_recordings = 0;
    struct cw_simulated alone = make(&options);
    options.companion = true;
    struct cw_simulated made = make(&options);
    ck_assert_uint_eq(made.n_recordings, 2 * alone.n_recordings);
    double apart = 0;
    for (size_t i = 0; i < made.n_runs; i++) {
        const struct cw_simulated_run *run = &made.runs[i], *with = &made.companion_runs[i];
        ck_assert_double_eq(run->start_s, alone.runs[i].start_s);
        ck_assert_double_eq(run->wind_ms, alone.runs[i].wind_ms);
        ck_assert_double_eq_tol(with->start_s - run->start_s, options.companion_behind_s, 1e-6);
        ck_assert_int_eq(with->way, run->way);
        ck_assert_double_eq(with->cda_m2, options.companion_cda_m2);
        ck_assert_double_eq(with->mass_kg,
                            options.companion_mass_kg + options.companion_bike_mass_kg);
        ck_assert_double_eq(with->density_kgm3, run->density_kgm3);
        apart += pow(with->wind_ms - run->wind_ms, 2) / (double)made.n_runs;
        const struct cw_own_recording *own = cw_outing_own_recording(&made.outing, with->recording);
        ck_assert_ptr_nonnull(own);
        ck_assert_str_eq(made.outing.setups[own->setup].name, CW_SIMULATE_COMPANION);
        ck_assert_uint_eq(with->setup, own->setup);
        const struct cw_samples *samples = &made.recordings[with->recording].samples;
        ck_assert_double_le(samples->time_s[0], with->start_s);
        ck_assert_double_ge(samples->time_s[samples->n - 1], with->end_s);
    }
    /* Winds differ by 0.58 m/s from run to run; the two of a run by what gusts of 0.15 m/s that
     * last 20 s come to over 90 s: some 0.1 m/s each. */
    ck_assert_double_gt(apart, 0.03 * 0.03);
    ck_assert_double_lt(apart, 0.3 * 0.3);
    for (size_t k = 0; k < alone.recordings[0].samples.n; k++)
        ck_assert_double_eq(made.recordings[0].samples.speed_ms[k],
                            alone.recordings[0].samples.speed_ms[k]);
    cw_simulated_free(&alone);
    cw_simulated_free(&made);
}
END_TEST

/* Each on a day of its own, both ways, and a companion who needs longer: late, but there. */
START_TEST(a_companion_comes_late_where_time_is_short) {
    struct cw_simulate_options options = breezy();
    options.companion = options.both_ways = true;
    options.n_recordings = 3;
    options.between_recordings_s = 1;
    options.top_wait_s = options.bottom_wait_s = 0;
    options.companion_cda_m2 = 1.5;
    options.start_speed_ms = 6;
    cw_simulate_road(&options, "dip", NULL);
    struct cw_simulated made = make(&options);
    double before = -INFINITY;
    for (size_t i = 0; i < made.n_runs; i++) {
        const struct cw_simulated_run *with = &made.companion_runs[i];
        ck_assert_double_ge(with->start_s - made.runs[i].start_s,
                            options.companion_behind_s - 1e-6);
        ck_assert_double_gt(with->start_s, before);
        ck_assert_uint_eq(with->recording, made.runs[i].recording + 3);
        before = with->end_s;
    }
    cw_simulated_free(&made);
}
END_TEST

START_TEST(a_setup_may_not_have_the_companions_name) {
    struct cw_simulate_options options = cw_simulate_options_default();
    struct cw_error error = {0};
    strcpy(options.setups[1].name, CW_SIMULATE_COMPANION);
    ck_assert_int_eq(cw_simulate_options_check(&options, &error), CW_OK);
    options.companion = true;
    ck_assert_int_eq(cw_simulate_options_check(&options, &error), CW_E_ARGUMENT);
    ck_assert_str_eq(error.message,
                     "a setup or its tyres have the companion's name \"friend\": give another");
}
END_TEST

int main(void) {
    Suite *suite = suite_create("simulate_known");
    TCase *tcase = tcase_create("core");
    tcase_add_test(tcase, a_breeze_goes_straight_between_its_points);
    tcase_add_test(tcase, a_breeze_is_met_as_it_was_made);
    tcase_add_test(tcase, notes_are_of_the_wind_that_was_met);
    tcase_add_test(tcase, notes_err_as_is_said);
    tcase_add_test(tcase, a_log_holds_means);
    tcase_add_test(tcase, tape_and_watch_are_of_the_runs);
    tcase_add_test(tcase, a_companion_coasts_along);
    tcase_add_test(tcase, a_companion_comes_late_where_time_is_short);
    tcase_add_test(tcase, a_setup_may_not_have_the_companions_name);
    suite_add_tcase(suite, tcase);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
