/* Roots of functions that are known in closed form, easy and awkward ones. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "stats/root.h"

static int calls;

static double cubic(double x, void *state) {
    calls++;
    return x * x * x - *(double *)state;
}

/* Flat nearly everywhere: a step of a width of 1e-6 at 0.7. */
static double step(double x, void *state) {
    (void)state;
    calls++;
    return tanh((x - 0.7) * 1e6);
}

/* Of a root that is counted three times no interpolation makes much. */
static double triple(double x, void *state) {
    (void)state;
    calls++;
    return pow(x - 0.3, 3);
}

START_TEST(to_the_last_digits_and_soon) {
    double eight = 8;
    calls = 0;
    ck_assert_double_eq_tol(cw_root(cubic, &eight, 0, 100, 0), 2, 1e-15);
    ck_assert_int_lt(calls, 25); /* halving takes 58 */
    ck_assert_double_eq_tol(cw_root(cubic, &eight, 100, 0, 0), 2, 1e-15);
    eight = -8;
    ck_assert_double_eq_tol(cw_root(cubic, &eight, -1e9, 1, 0), -2, 1e-15);
}
END_TEST

START_TEST(awkward_ones_too) {
    calls = 0;
    ck_assert_double_eq_tol(cw_root(step, NULL, 0, 1, 0), 0.7, 1e-15);
    ck_assert_int_lt(calls, 60);
    calls = 0;
    ck_assert_double_eq_tol(cw_root(triple, NULL, -1, 5, 1e-9), 0.3, 1e-8);
    ck_assert_int_lt(calls, 110);
}
END_TEST

START_TEST(as_exact_as_asked) {
    double two = 2;
    calls = 0;
    ck_assert_double_eq_tol(cw_root(cubic, &two, 0, 4, 1e-3), cbrt(2), 2e-3);
    int few = calls;
    ck_assert_double_eq_tol(cw_root(cubic, &two, 0, 4, 1e-12), cbrt(2), 1e-11);
    ck_assert_int_gt(calls - few, few);
}
END_TEST

static double none(double x, void *state) {
    (void)state;
    return x > 0.5 ? NAN : -1 + 3 * x;
}

START_TEST(no_root) {
    double one = 1;
    ck_assert(isnan(cw_root(cubic, &one, 2, 3, 0)));
    ck_assert(isnan(cw_root(none, &one, 0, 1, 0)));
    ck_assert_double_eq(cw_root(cubic, &one, 1, 3, 0), 1);
    ck_assert_double_eq(cw_root(cubic, &one, 0, 1, 0), 1);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("stats/root");
    TCase *tests = tcase_create("root");
    tcase_add_test(tests, to_the_last_digits_and_soon);
    tcase_add_test(tests, awkward_ones_too);
    tcase_add_test(tests, as_exact_as_asked);
    tcase_add_test(tests, no_root);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
