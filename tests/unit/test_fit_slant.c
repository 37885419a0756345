#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "fit/slant.h"

enum { N = 200 };

/* On an even slope the road is longer than the map by sqrt(1 + slope2), beyond the ends too. */
START_TEST(even_slope) {
    double map[N], height[N];
    struct cw_slant slant;
    struct cw_error error;
    for (size_t i = 0; i < N; i++) {
        map[i] = -30 + 5 * (double)i;
        height[i] = i % 9 == 2 ? NAN : 700 - 0.1 * map[i];
    }
    ck_assert_int_eq(cw_slant_make(map, height, N, &slant, &error), CW_OK);
    double rate = sqrt(1.01);
    for (double at = -100; at < 1200; at += 13) {
        ck_assert_double_eq_tol(cw_slant_rate(&slant, at), rate, 1e-6);
        ck_assert_double_eq_tol(cw_slant_along(&slant, at), -30 + rate * (at + 30), 1e-3);
    }
    cw_slant_free(&slant);
}
END_TEST

/* A road that steepens, y = x2/(2 R): its length is R/2 (u sqrt(1+u2) + asinh u), u = x/R. */
START_TEST(steepening_road) {
    enum { RADIUS = 10000 };
    double map[N], height[N];
    struct cw_slant slant;
    struct cw_error error;
    for (size_t i = 0; i < N; i++) {
        map[i] = 5 * (double)i;
        height[i] = -map[i] * map[i] / (2.0 * RADIUS);
    }
    ck_assert_int_eq(cw_slant_make(map, height, N, &slant, &error), CW_OK);
    for (double at = 0; at <= 995; at += 9) {
        double u = at / RADIUS;
        double length = RADIUS / 2.0 * (u * sqrt(1 + u * u) + asinh(u));
        ck_assert_double_eq_tol(cw_slant_along(&slant, at), length, 0.02);
        /* a step of 5 m spans 1e-4 of it; at the ends the smoothing takes the road for straighter
         */
        double tolerance = at > 100 && at < 900 ? 2.5e-4 : 1e-3;
        ck_assert_double_eq_tol(cw_slant_rate(&slant, at), sqrt(1 + u * u), tolerance);
    }
    cw_slant_free(&slant);
}
END_TEST

/* Heights that wander do not make the road longer than it is by more than a part in two thousand,
 * where the zigzag between them would by several. */
START_TEST(noisy_heights) {
    double map[N], height[N];
    struct cw_slant slant;
    struct cw_error error;
    for (size_t i = 0; i < N; i++) {
        map[i] = 5 * (double)i;
        height[i] = 300 - 0.06 * map[i] + (i % 2 ? 0.5 : -0.5);
    }
    ck_assert_int_eq(cw_slant_make(map, height, N, &slant, &error), CW_OK);
    double length = cw_slant_along(&slant, 990) / (990 * sqrt(1 + 0.06 * 0.06));
    ck_assert_double_eq_tol(length, 1, 5e-4);
    cw_slant_free(&slant);
}
END_TEST

START_TEST(no_heights) {
    const double map[3] = {0, 5, 10}, height[3] = {NAN, NAN, NAN}, one[3] = {NAN, 4, NAN};
    struct cw_slant slant;
    struct cw_error error;
    ck_assert_int_eq(cw_slant_make(map, height, 3, &slant, &error), CW_E_DATA);
    ck_assert_int_eq(cw_slant_make(map, one, 3, &slant, &error), CW_E_DATA);
    cw_slant_free(&slant);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/slant");
    TCase *tests = tcase_create("slant");
    tcase_add_test(tests, even_slope);
    tcase_add_test(tests, steepening_road);
    tcase_add_test(tests, noisy_heights);
    tcase_add_test(tests, no_heights);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
