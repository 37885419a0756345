#include <check.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "analysis/clock.h"

static struct cw_timed_comparison measured;
static struct cw_comparison comparison;

static void begin(void) {
    measured = (struct cw_timed_comparison){
        .of = {[CW_TIMED_TIME] = {.test = CW_TIMED_WELCH,
                                  .difference = {-2.6, 0.5, -3.6, -1.6, 0}}},
        .time_by_entry_s = {NAN, NAN, NAN, NAN, 0}};
    comparison = (struct cw_comparison){.time_over_road_s = {-8.3, 2.7, -12.8, -2.1, 0}};
}

/* Whether the clock excludes the model's seconds, its gates spanning a part of the road. */
static bool excluded(double part) {
    cw_clock_judge(&measured, part, &comparison);
    return isfinite(comparison.time_by_clock_s.value);
}

/* A model that says 8.3 s where the gates measured 2.6 s: what a poorly known level once made of
 * heights from a map. */
START_TEST(seconds_that_the_clock_excludes_give_way) {
    ck_assert(excluded(1));
    ck_assert_double_eq_tol(comparison.time_by_clock_s.value, -2.6, 1e-12);
    ck_assert_double_eq_tol(comparison.time_by_clock_s.low, -3.6, 1e-12);
    comparison.time_over_road_s.value = -3.5;
    ck_assert(!excluded(1));
    comparison.time_over_road_s.value = -1.5;
    ck_assert(excluded(1));
}
END_TEST

/* The setup came faster to the first gate, which alone may have won it up to 1.2 s. */
START_TEST(entry_speeds_are_allowed_for) {
    measured.time_by_entry_s.value = -1.2;
    comparison.time_over_road_s.value = -0.5;
    ck_assert(!excluded(1));
    comparison.time_over_road_s.value = -0.3;
    ck_assert(excluded(1));
    measured.time_by_entry_s.value = 1.2;
    comparison.time_over_road_s.value = -4.7;
    ck_assert(!excluded(1));
}
END_TEST

/* Gates over four fifths of the road time four fifths of it. */
START_TEST(the_road_may_be_longer_than_the_gates) {
    comparison.time_over_road_s.value = -4.4;
    ck_assert(!excluded(0.8));
    ck_assert(excluded(1));
}
END_TEST

/* One was ridden in the cold of the morning, which took 2 s. */
START_TEST(colder_air_is_allowed_for) {
    comparison.time_over_road_s.value = -0.8;
    ck_assert(excluded(1));
    comparison.time_by_air_s = -2;
    ck_assert(!excluded(1));
    comparison.time_by_air_s = -3;
    ck_assert(excluded(1));
    ck_assert(!excluded(0.9));
}
END_TEST

START_TEST(what_was_not_tested_excludes_nothing) {
    measured.of[CW_TIMED_TIME].test = CW_TIMED_NO_TEST;
    ck_assert(!excluded(1));
    measured.of[CW_TIMED_TIME].test = CW_TIMED_WELCH;
    comparison.time_over_road_s.value = NAN;
    ck_assert(!excluded(1));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("analysis_clock");
    TCase *tests = tcase_create("clock");
    tcase_add_checked_fixture(tests, begin, NULL);
    tcase_add_test(tests, seconds_that_the_clock_excludes_give_way);
    tcase_add_test(tests, entry_speeds_are_allowed_for);
    tcase_add_test(tests, the_road_may_be_longer_than_the_gates);
    tcase_add_test(tests, colder_air_is_allowed_for);
    tcase_add_test(tests, what_was_not_tested_excludes_nothing);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
