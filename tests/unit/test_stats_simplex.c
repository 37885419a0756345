#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "stats/simplex.h"

/* Rosenbrock 1960, Comput. J. 3:175: a bent valley whose lowest point is (1, 1), begun from the
 * point that he began from. */
static double valley(const double *x, const void *state) {
    int *const *calls = state;
    ++**calls;
    double a = x[1] - x[0] * x[0], b = 1 - x[0];
    return 100 * a * a + b * b;
}

START_TEST(rosenbrocks_valley) {
    int calls = 0, *counter = &calls;
    double x[2] = {-1.2, 1};
    double least = cw_simplex_minimise(valley, &counter, 2, x, 0.5, 1e-9, 1000);
    ck_assert_double_eq_tol(x[0], 1, 1e-6);
    ck_assert_double_eq_tol(x[1], 1, 1e-6);
    ck_assert_double_eq_tol(least, 0, 1e-12);
    ck_assert_int_lt(calls, 500);
}
END_TEST

/* A bowl with a wall: what is no number is never taken for low. */
static double bowl(const double *x, const void *state) {
    const double *at = state;
    double sum = 3;
    for (int i = 0; i < 3; i++) sum += (x[i] - at[i]) * (x[i] - at[i]) * (i + 1);
    return x[0] < -0.5 ? NAN : sum;
}

START_TEST(bowl_beside_a_wall) {
    const double at[3] = {-0.4, 2, 0.3};
    double x[3] = {0, 0, 0};
    ck_assert_double_eq_tol(cw_simplex_minimise(bowl, at, 3, x, 1, 1e-8, 1000), 3, 1e-12);
    for (int i = 0; i < 3; i++) ck_assert_double_eq_tol(x[i], at[i], 1e-6);
    /* of all there is nothing, it stays */
    double outside[3] = {-9, 1, 1};
    ck_assert(isinf(cw_simplex_minimise(bowl, at, 3, outside, 0.1, 1e-8, 50)));
    ck_assert_double_eq(outside[0], -9);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("stats/simplex");
    TCase *tests = tcase_create("simplex");
    tcase_add_test(tests, rosenbrocks_valley);
    tcase_add_test(tests, bowl_beside_a_wall);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
