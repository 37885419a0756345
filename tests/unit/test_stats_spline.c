/* Smooth curves: against GSL's interpolating spline, the closed form of what a wave keeps, and what
 * the curve is said to make least. */
#include <check.h>
#include <gsl/gsl_spline.h>
#include <math.h>
#include <stdlib.h>

#include "stats/spline.h"

static const double pi = 3.14159265358979323846;
enum { FEW = 9 };
static const double place[FEW] = {0, 1, 2.5, 3, 7, 8, 8.5, 12, 13},
                    seen[FEW] = {1, -2, 0.5, 0.7, 4, 3, -1, 0, 2};

START_TEST(through_all_points_as_the_reference_library) {
    struct cw_spline spline;
    ck_assert_int_eq(cw_spline_make(FEW, place, seen, 0, &spline, NULL), CW_OK);
    gsl_spline *reference = gsl_spline_alloc(gsl_interp_cspline, FEW);
    gsl_spline_init(reference, place, seen, FEW);
    for (double x = 0; x <= 13; x += 0.1)
        ck_assert_double_eq_tol(cw_spline_at(&spline, x), gsl_spline_eval(reference, x, NULL),
                                1e-12);
    /* straight on beyond */
    double slope = gsl_spline_eval_deriv(reference, 13, NULL);
    ck_assert_double_eq_tol(cw_spline_at(&spline, 15), 2 + 2 * slope, 1e-10);
    slope = gsl_spline_eval_deriv(reference, 0, NULL);
    ck_assert_double_eq_tol(cw_spline_at(&spline, -3), 1 - 3 * slope, 1e-10);
    gsl_spline_free(reference);
    cw_spline_free(&spline);
}
END_TEST

/* Of what was made least, by Simpson's rule: exact, g'' being straight between points. */
static double cost(const struct cw_spline *spline, double smooth) {
    double sum = 0;
    for (size_t i = 0; i < FEW; i++) {
        double share = 0.5 * (place[i + 1 < FEW ? i + 1 : i] - place[i > 0 ? i - 1 : i]);
        sum += share * pow(cw_spline_at(spline, place[i]) - seen[i], 2);
    }
    for (size_t i = 0; i + 1 < FEW; i++) {
        double a = spline->bend[i], b = spline->bend[i + 1], middle = 0.5 * (a + b);
        sum +=
            pow(smooth, 4) * (place[i + 1] - place[i]) / 6 * (a * a + 4 * middle * middle + b * b);
    }
    return sum;
}

/* The natural spline through other values is a curve too, and none of them costs less. */
START_TEST(least_of_all_curves) {
    for (double smooth = 0.3; smooth < 5; smooth *= 2) {
        struct cw_spline spline, other;
        ck_assert_int_eq(cw_spline_make(FEW, place, seen, smooth, &spline, NULL), CW_OK);
        double least = cost(&spline, smooth);
        for (size_t i = 0; i < FEW; i++)
            for (double by = -0.01; by < 0.02; by += 0.02) {
                double value[FEW];
                for (size_t k = 0; k < FEW; k++) value[k] = spline.value[k] + (k == i ? by : 0);
                ck_assert_int_eq(cw_spline_make(FEW, place, value, 0, &other, NULL), CW_OK);
                ck_assert_double_gt(cost(&other, smooth), least);
                cw_spline_free(&other);
            }
        cw_spline_free(&spline);
    }
}
END_TEST

START_TEST(keeps_of_a_wave_what_it_says) {
    enum { N = 2000 };
    double *x = malloc(2 * N * sizeof *x), *y = x + N;
    for (double length = 30; length < 200; length *= 1.5) {
        for (size_t i = 0; i < N; i++) {
            x[i] = (double)i;
            y[i] = sin(2 * pi * x[i] / length);
        }
        struct cw_spline spline;
        ck_assert_int_eq(cw_spline_make(N, x, y, 8, &spline, NULL), CW_OK);
        double kept = 0, whole = 0;
        for (size_t i = N / 4; i < 3 * N / 4; i++) {
            kept += spline.value[i] * y[i];
            whole += y[i] * y[i];
        }
        ck_assert_double_eq_tol(kept / whole, 1 / (1 + pow(2 * pi * 8 / length, 4)), 2e-3);
        cw_spline_free(&spline);
    }
    free(x);
}
END_TEST

START_TEST(few_points) {
    struct cw_spline spline;
    ck_assert_int_eq(cw_spline_make(2, place, seen, 5, &spline, NULL), CW_OK);
    ck_assert_double_eq_tol(cw_spline_at(&spline, 0.5), -0.5, 1e-14);
    ck_assert_double_eq_tol(cw_spline_at(&spline, 2), -5, 1e-14);
    cw_spline_free(&spline);
    const double twice[3] = {0, 1, 1};
    ck_assert_int_eq(cw_spline_make(3, twice, seen, 5, &spline, NULL), CW_E_NUMERIC);
    cw_spline_free(&spline);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("stats/spline");
    TCase *tests = tcase_create("spline");
    tcase_add_test(tests, through_all_points_as_the_reference_library);
    tcase_add_test(tests, least_of_all_curves);
    tcase_add_test(tests, keeps_of_a_wave_what_it_says);
    tcase_add_test(tests, few_points);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
