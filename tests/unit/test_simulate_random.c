#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "simulate/random.h"

START_TEST(streams_repeat_and_differ) {
    struct cw_random a = cw_random_make(7, CW_STREAM_SPEED), b = cw_random_make(7, CW_STREAM_SPEED);
    struct cw_random other = cw_random_make(7, CW_STREAM_CADENCE);
    struct cw_random later = cw_random_make(8, CW_STREAM_SPEED);
    double product_other = 0, product_later = 0;
    for (int i = 0; i < 4000; i++) {
        double x = cw_random_normal(&a);
        ck_assert_double_eq(x, cw_random_normal(&b));
        product_other += x * cw_random_normal(&other) / 4000;
        product_later += x * cw_random_normal(&later) / 4000;
    }
    /* Four standard errors of a correlation of 0. */
    ck_assert_double_eq_tol(product_other, 0, 4 / sqrt(4000));
    ck_assert_double_eq_tol(product_later, 0, 4 / sqrt(4000));
    cw_random_free(&a);
    cw_random_free(&b);
    cw_random_free(&other);
    cw_random_free(&later);
}
END_TEST

/* sd and correlation exp(-dt/time) as stated, in steps of any length, from the first value on. */
START_TEST(drift_has_its_sd_and_correlation) {
    struct cw_random random = cw_random_make(3, CW_STREAM_POSITION_DRIFT);
    const double steps_s[] = {0.5, 3, 9.5};
    enum { SERIES = 20000, STEPS = 3 };
    double square[STEPS + 1] = {0}, product[STEPS] = {0};
    for (int k = 0; k < SERIES; k++) {
        struct cw_drift drift = cw_drift_make(1.5, 20, &random);
        double before = drift.value;
        square[0] += before * before / SERIES;
        for (int i = 0; i < STEPS; i++) {
            double value = cw_drift_step(&drift, steps_s[i], &random);
            square[i + 1] += value * value / SERIES;
            product[i] += value * before / SERIES;
            before = value;
        }
    }
    /* A variance of 20000 draws has a standard error of 1 %. */
    for (int i = 0; i <= STEPS; i++) ck_assert_double_eq_tol(square[i] / 2.25, 1, 0.04);
    for (int i = 0; i < STEPS; i++)
        ck_assert_double_eq_tol(product[i] / 2.25, exp(-steps_s[i] / 20), 0.04);
    cw_random_free(&random);
}
END_TEST

START_TEST(gusts_run_straight_between_their_points) {
    double values[4];
    struct cw_gust_series gust = {4, 0.5, values};
    struct cw_random random = cw_random_make(1, CW_STREAM_GUST);
    cw_gust_series_fill(&gust, 0.2, 10, &random);
    ck_assert_double_eq(cw_gust_series_at(0, &gust), values[0]);
    ck_assert_double_eq_tol(cw_gust_series_at(0.625, &gust), 0.75 * values[1] + 0.25 * values[2],
                            1e-15);
    ck_assert_double_eq(cw_gust_series_at(99, &gust), values[3]);
    ck_assert_double_eq(cw_gust_series_at(-1, &gust), values[0]);
    cw_random_free(&random);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("simulate_random");
    TCase *cases = tcase_create("simulate_random");
    tcase_add_test(cases, streams_repeat_and_differ);
    tcase_add_test(cases, drift_has_its_sd_and_correlation);
    tcase_add_test(cases, gusts_run_straight_between_their_points);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
