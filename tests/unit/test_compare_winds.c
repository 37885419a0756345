/* What was seen of the winds, in comparisons. */
#include <check.h>
#include <math.h>
#include <string.h>

#include "compared.h"

static struct compared c;

/* Winds that differ by half a metre a second from run to run, in gusts that are next to none. */
static struct cw_simulate_options breezy(void) {
    struct cw_simulate_options options = compared_options(7);
    options.run_wind_sd_ms = 0.5;
    compared_order(&options, "ABBAABBA");
    return options;
}

/* Compares with the notes times a factor: of the values that the outing file would hold. */
static void compare_noted(const struct cw_simulate_options *options, double factor) {
    struct cw_simulated *truth = compared_simulate(&c, options);
    for (size_t i = 0; i < truth->outing.wind_ms.n; i++) truth->outing.wind_ms.value[i] *= factor;
    compared_hand_over(&c);
    compared_compare(&c, NULL);
}

static void begin(void) {
    c = (struct compared){0};
}

static void end(void) {
    compared_free(&c);
}

static double half(const struct cw_comparison *comparison) {
    return 0.5 * (comparison->percent.high - comparison->percent.low);
}

static double error_of(const struct cw_run_among *run, const struct cw_simulated *truth) {
    for (size_t i = 0; i < truth->n_runs; i++)
        if (fabs(truth->runs[i].start_s - run->time_s) < 5)
            return run->wind_along_ms.value - truth->runs[i].shared_wind_ms;
    return NAN;
}

START_TEST(notes_make_a_breezy_morning_sure) {
    struct cw_simulate_options options = breezy();
    options.note_wind = true;
    options.note_sd_ms = 0.05;
    compare_noted(&options, 1);
    const struct cw_compare *compare = &c.analysis.compare;
    const struct cw_comparison *first = &compare->comparisons[0];
    double truth = 100 * (options.setups[1].cda_m2 / options.setups[0].cda_m2 - 1);
    ck_assert_uint_eq(compare->wind.seen[CW_WIND_NOTED].n, 8);
    ck_assert_int_eq(compare->wind.seen[CW_WIND_NOTED].use, CW_WIND_USED);
    ck_assert_int_eq(compare->wind.seen[CW_WIND_LOGGED].use, CW_WIND_UNSEEN);
    ck_assert(compare->wind.seen[CW_WIND_NOTED].factor.low < 1 &&
              compare->wind.seen[CW_WIND_NOTED].factor.high > 1);
    /* They err by what was said of them. */
    ck_assert(compare->wind.seen[CW_WIND_NOTED].error_factor.low < 1 &&
              compare->wind.seen[CW_WIND_NOTED].error_factor.high > 1);
    ck_assert_double_lt(half(first), 0.6 * compare->wind.half_percent_without);
    ck_assert(first->percent.low < truth && truth < first->percent.high);
    ck_assert(isnan(compare->wind.half_percent_with_sensor));
    for (size_t i = 0; i < compare->n_runs; i++)
        ck_assert_double_lt(fabs(error_of(&compare->runs[i], &c.truth[0])), 0.2);
}
END_TEST

START_TEST(notes_with_the_sign_turned_are_found_out) {
    struct cw_simulate_options options = breezy();
    options.note_wind = true;
    options.note_sd_ms = 0.05;
    compare_noted(&options, -1);
    const struct cw_compare *compare = &c.analysis.compare;
    ck_assert_int_eq(compare->wind.seen[CW_WIND_NOTED].use, CW_WIND_AGAINST);
    /* Nothing of them is used: what would have helped is said as where nothing was known. */
    ck_assert(compare->wind.half_percent_with_sensor > 0);
}
END_TEST

/* The mean of the notes stands for the mean wind that the file does not say; not of such. */
START_TEST(notes_that_are_not_used_make_no_mean_wind) {
    struct cw_simulate_options options = breezy();
    options.note_wind = true;
    options.note_sd_ms = 0.05;
    double expected[2] = {0, 0};
    for (int turned = 0; turned < 2; turned++) {
        struct cw_simulated *truth = compared_simulate(&c, &options);
        truth->outing.wind_given = false;
        for (size_t i = 0; i < truth->outing.wind_ms.n; i++) {
            truth->outing.wind_ms.value[i] += 0.4;
            if (turned)
                truth->outing.wind_ms.value[i] *= -1;
            else
                expected[0] += truth->outing.wind_ms.value[i] / 8;
        }
        compared_hand_over(&c);
    }
    compared_fit(&c);
    for (int turned = 0; turned < 2; turned++)
        ck_assert_double_eq_tol(c.analysis.outings[turned].outing.wind_along_ms, expected[turned],
                                1e-9);
}
END_TEST

START_TEST(a_companion_is_a_sensor_and_no_rival) {
    struct cw_simulate_options options = breezy();
    options.companion = true;
    compared_make(&c, &options);
    const struct cw_compare *compare = &c.analysis.compare;
    ck_assert_uint_eq(compare->n_setups, 3);
    ck_assert_uint_eq(compare->n_comparisons, 1);
    ck_assert_str_eq(compare->setups[0].rider, "");
    ck_assert(*compare->setups[2].rider != 0);
    ck_assert_uint_eq(compare->wind.n_companion_runs, 8);
    ck_assert_double_lt(half(&compare->comparisons[0]), 0.6 * compare->wind.half_percent_without);
    size_t companions = 0;
    for (size_t i = 0; i < compare->n_runs; i++) companions += compare->runs[i].companion;
    ck_assert_uint_eq(companions, 8);
    /* The rider's setups differ in drag alone: 1/2 rho CdA v^3, and rolling of one mass. */
    const struct cw_comparison *k = &compare->comparisons[0];
    double v = 40 / 3.6, rho = c.analysis.outings[0].fit.place.density_kgm3;
    double watts = 0.5 * rho * k->difference_m2.value * v * v * v;
    ck_assert_double_eq_tol(k->watts_at_40kmh.value, watts, 0.02 * fabs(watts));
    struct cw_error error;
    ck_assert_int_ge(cw_analysis_time(&c.analysis, &error), 0);
    const struct cw_timed *timed = &c.analysis.outings[0].timed;
    ck_assert_uint_eq(timed->n_setups, 3);
    ck_assert_uint_eq(timed->n_comparisons, 1);
    ck_assert_str_eq(c.analysis.outings[0].outing.setups[timed->comparisons[0].reference].name,
                     compare->setups[0].name);
}
END_TEST

/* What a companion would leave of the interval is said of a breezy morning without one, and is
 * within a factor of two of what one who was there leaves. What runs have in common, the road's
 * heights and the tyres, costs a companion's wind nothing. */
START_TEST(a_companion_is_worth_what_was_said) {
    double alone = 0, said = 0, came = 0;
    for (unsigned long seed = 1; seed <= 2; seed++)
        for (int companion = 0; companion < 2; companion++) {
            struct cw_simulate_options options = breezy();
            options.seed = seed;
            options.companion = companion;
            compared_make(&c, &options);
            const struct cw_compare *compare = &c.analysis.compare;
            if (companion) {
                came += half(&compare->comparisons[0]);
            } else {
                alone += half(&compare->comparisons[0]);
                said += compare->wind.half_percent_with_companion;
            }
            compared_free(&c);
            c = (struct compared){0};
        }
    ck_assert_double_lt(came, 0.5 * alone);
    ck_assert_double_gt(said, 0.5 * came);
    ck_assert_double_lt(said, 2 * came);
}
END_TEST

/* 3 s behind are 24 m at 8 m/s, and 36 at 12. */
START_TEST(who_rides_in_a_wake_is_left_out) {
    struct cw_simulate_options options = breezy();
    compared_order(&options, "ABBA");
    options.companion = true;
    options.companion_behind_s = 3;
    options.companion_cda_m2 = options.setups[0].cda_m2; /* neither comes up nor falls back */
    options.companion_mass_kg = options.rider_mass_kg;
    options.companion_bike_mass_kg = options.bike_mass_kg;
    for (size_t k = 0; k < options.n_segments; k++) options.segments[k].slope_percent = -2.6;
    compared_make(&c, &options);
    const struct cw_analysed *of = &c.analysis.outings[0];
    size_t wakes = 0;
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        if (!(run->reasons & CW_REASON_WAKE)) continue;
        ck_assert(!run->kept);
        ck_assert_uint_ne(cw_outing_rider_of(&of->outing, run->recording), 0);
        wakes++;
    }
    ck_assert_uint_ge(wakes, 3);
    ck_assert_uint_eq(c.analysis.compare.wind.n_companion_runs, 4 - wakes);
}
END_TEST

/* 1.6 m/s from the side in all runs, and twice that in one setup's: at 10 m/s some 9 and 18
 * degrees of yaw, at 0.5 % of CdA a degree. */
START_TEST(a_crosswind_is_in_the_budget) {
    struct cw_simulate_options options = compared_options(7);
    struct cw_error error;
    compared_order(&options, "ABBA");
    compared_add(&c, &options, SIZE_MAX, 0);
    ck_assert_int_ge(cw_analysis_find(&c.analysis, &error), 0);
    struct cw_analysed *of = &c.analysis.outings[0];
    for (size_t i = 0; i < of->runs.n; i++)
        of->runs.at[i].logged.cross_ms = of->runs.at[i].setup == 1 ? 3.2 : 1.6;
    ck_assert_int_ge(cw_analysis_fit(&c.analysis, &error), 0);
    compared_compare(&c, NULL);
    const struct cw_compare *compare = &c.analysis.compare;
    const struct cw_cause_effect *yaw = NULL;
    for (size_t k = 0; k < compare->n_causes; k++)
        if (compare->causes[k].kind == CW_CAUSE_YAW) yaw = &compare->causes[k];
    ck_assert_ptr_nonnull(yaw);
    ck_assert_double_gt(yaw->uncertainty, 11);
    ck_assert_double_lt(yaw->uncertainty, 20);
    ck_assert_double_eq_tol(yaw->cda_percent, 0.5 * yaw->uncertainty, 0.06 * yaw->uncertainty);
    /* One setup's yaw is twice the other's: that does not cancel. */
    ck_assert_double_eq_tol(fabs(yaw->difference_percent), yaw->cda_percent * 2 / 3,
                            0.12 * yaw->cda_percent);
    ck_assert_double_gt(compare->systematic_difference_percent, fabs(yaw->difference_percent));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("compare/winds");
    TCase *tests = tcase_create("winds");
    tcase_set_timeout(tests, 60);
    tcase_add_checked_fixture(tests, begin, end);
    /* What their calls reach in memory the others reach too: not run again under sanitizers. */
    TCase *numbers = tcase_create("numbers");
    tcase_set_tags(numbers, "numbers");
    tcase_set_timeout(numbers, 60);
    tcase_add_checked_fixture(numbers, begin, end);
    tcase_add_test(tests, notes_make_a_breezy_morning_sure);
    tcase_add_test(numbers, notes_with_the_sign_turned_are_found_out);
    tcase_add_test(numbers, notes_that_are_not_used_make_no_mean_wind);
    tcase_add_test(tests, a_companion_is_a_sensor_and_no_rival);
    tcase_add_test(tests, a_companion_is_worth_what_was_said);
    tcase_add_test(tests, who_rides_in_a_wake_is_left_out);
    tcase_add_test(tests, a_crosswind_is_in_the_budget);
    suite_add_tcase(suite, tests);
    suite_add_tcase(suite, numbers);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
