#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "stats/student.h"
#include "timed/steps.h"

#define KMH (1 / 3.6)
enum { RUNS = 9, SAMPLES = 31 };

static struct cw_run runs_at[RUNS];
static struct cw_recording recordings[RUNS];
static struct cw_motion motions[RUNS];
static double time_s[RUNS][SAMPLES], speed_ms[RUNS][SAMPLES];
static struct cw_runs runs;
static struct cw_ridden ridden;
static struct cw_timed_setup setup;
static struct cw_timed timed;
static struct cw_error error;

/* Run i slows down evenly from 47 to 33 km/h, taking step_s for each 5 km/h. */
static void coast(size_t i, bool reversed, double step_s) {
    for (size_t j = 0; j < SAMPLES; j++) {
        double part = (double)j / (SAMPLES - 1);
        time_s[i][j] = 1e6 + 1000.0 * (double)i + part * step_s * 14 / 5;
        speed_ms[i][j] = (47 - 14 * part) * KMH;
    }
    recordings[i].samples.time_s = time_s[i];
    motions[i].speed_ms = speed_ms[i];
    runs_at[i] = (struct cw_run){.recording = i,
                                 .first = 0,
                                 .last = SAMPLES - 1,
                                 .kept = true,
                                 .reversed = reversed,
                                 .mean_slope = reversed ? -0.004 : 0.004,
                                 .entry_speed_ms = 47 * KMH,
                                 .top_speed_ms = 47 * KMH};
}

static void begin(void) {
    runs = (struct cw_runs){.n = 8, .at = runs_at, .n_roads = 1};
    ridden = (struct cw_ridden){
        .n_recordings = RUNS, .recordings = recordings, .motions = motions, .runs = &runs};
    setup = (struct cw_timed_setup){.runs = 8};
    timed = (struct cw_timed){.n_setups = 1, .setups = &setup};
}

static void end(void) {
    free(timed.steps);
}

/* Four pairs of times and what the coast-down standards make of them: p = h sd / (sqrt(n) mean),
 * the mean harmonic, the sd about it (UN GTR 15, Annex 4, from memory; computed by hand). Their
 * table has h = 3.2 for n = 4 (UN R83, Annex III). */
static const double there_s[] = {40.2, 39.6, 41.1, 40.5}, back_s[] = {37.9, 38.4, 37.1, 38.0};
static const double mean_s = 39.0534872401, sd_s = 0.1048767309, by_table = 0.0042967423;

START_TEST(four_pairs) {
    for (size_t i = 0; i < 4; i++) {
        coast(2 * i, false, there_s[i]);
        coast(2 * i + 1, true, back_s[i]);
    }
    ck_assert_int_eq(cw_timed_steps_make(&ridden, &timed, &error), CW_OK);
    ck_assert_uint_eq(timed.n_steps, 2); /* 45 to 40 and 40 to 35 km/h; the rest is not whole */
    for (size_t k = 0; k < 2; k++) {
        const struct cw_timed_step *step = &timed.steps[k];
        ck_assert_double_eq_tol(step->from_ms, (45 - 5 * (double)k) * KMH, 1e-12);
        ck_assert_double_eq_tol(step->from_ms - step->to_ms, 5 * KMH, 1e-12);
        ck_assert(step->pairs);
        ck_assert_uint_eq(step->timing.n, 4);
        ck_assert_double_eq_tol(step->timing.mean_s, mean_s, 1e-6);
        ck_assert_double_eq_tol(step->timing.sd_s, sd_s, 1e-6);
        ck_assert_double_eq_tol(step->timing.precision * 3.2 / cw_t_quantile(0.975, 3), by_table,
                                1e-7);
    }
}
END_TEST

START_TEST(a_pair_counts_whole_or_not_at_all) {
    for (size_t i = 0; i < 4; i++) {
        coast(2 * i, false, there_s[i]);
        coast(2 * i + 1, true, back_s[i]);
    }
    runs_at[3].last = SAMPLES / 2 + 3; /* ends below 40 km/h: the second pair lacks a step */
    coast(8, false, 20);               /* and one run has none to go with */
    runs.n = 9;
    ck_assert_int_eq(cw_timed_steps_make(&ridden, &timed, &error), CW_OK);
    ck_assert_uint_eq(timed.n_steps, 2);
    ck_assert_uint_eq(timed.steps[0].timing.n, 4);
    ck_assert_uint_eq(timed.steps[1].timing.n, 3);
    double reciprocals = 0;
    for (size_t i = 0; i < 4; i++)
        if (i != 1) reciprocals += (1 / there_s[i] + 1 / back_s[i]) / 2;
    ck_assert_double_eq_tol(timed.steps[1].timing.mean_s, 3 / reciprocals, 1e-6);
}
END_TEST

START_TEST(one_way_counts_runs) {
    for (size_t i = 0; i < 4; i++) coast(i, false, there_s[i]);
    runs.n = 4;
    runs_at[2].kept = false;
    ck_assert_int_eq(cw_timed_steps_make(&ridden, &timed, &error), CW_OK);
    ck_assert_uint_eq(timed.n_steps, 2);
    ck_assert(!timed.steps[0].pairs);
    ck_assert_uint_eq(timed.steps[0].timing.n, 3);
}
END_TEST

START_TEST(descents_have_no_steps) {
    for (size_t i = 0; i < 4; i++) {
        coast(i, false, there_s[i]);
        runs_at[i].mean_slope = -0.03;
    }
    runs.n = 4;
    ck_assert_int_eq(cw_timed_steps_make(&ridden, &timed, &error), CW_OK);
    ck_assert_uint_eq(timed.n_steps, 0);
    for (size_t i = 0; i < 4; i++) {
        runs_at[i].mean_slope = 0; /* down into a dip and up again */
        runs_at[i].top_speed_ms = 1.3 * runs_at[i].entry_speed_ms;
    }
    ck_assert_int_eq(cw_timed_steps_make(&ridden, &timed, &error), CW_OK);
    ck_assert_uint_eq(timed.n_steps, 0);
}
END_TEST

START_TEST(a_speed_that_wavers_is_taken_in_its_middle) {
    coast(0, false, 10);
    /* Sample 15 is at 40 km/h: one before it below, one after it above. */
    speed_ms[0][14] = 39.8 * KMH;
    speed_ms[0][16] = 40.2 * KMH;
    double at = cw_step_time(&ridden, &runs_at[0], 40 * KMH);
    ck_assert_double_gt(at, time_s[0][13]);
    ck_assert_double_lt(at, time_s[0][17]);
    ck_assert_double_eq_tol(at, time_s[0][15], 0.1);
    ck_assert(isnan(cw_step_time(&ridden, &runs_at[0], 50 * KMH)));
    ck_assert(isnan(cw_step_time(&ridden, &runs_at[0], 30 * KMH)));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("timed_steps");
    TCase *steps = tcase_create("steps");
    tcase_add_checked_fixture(steps, begin, end);
    tcase_add_test(steps, four_pairs);
    tcase_add_test(steps, a_pair_counts_whole_or_not_at_all);
    tcase_add_test(steps, one_way_counts_runs);
    tcase_add_test(steps, descents_have_no_steps);
    tcase_add_test(steps, a_speed_that_wavers_is_taken_in_its_middle);
    suite_add_tcase(suite, steps);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
