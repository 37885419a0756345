/* The whitened normal equations of a run against those of a dense covariance matrix, which
 * tests/unit/dense.c builds from the model's equations without any filter; and how they answer to
 * the noise against difference quotients. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "dense.h"
#include "fit/places.h"
#include "fit/whiten.h"

static const struct cw_noise noise_usual = {.gust_sd_ms = 0.2,
                                            .gust_time_s = 18,
                                            .drift_sd_m = 0.4,
                                            .drift_time_s = 150,
                                            .elevation_sd_m = 0.06,
                                            .speed_sd_ms = 0.11,
                                            .wander_sd_m = 1.7,
                                            .wander_time_s = 60,
                                            .jitter_sd_m = 0.4,
                                            .jitter_time_s = 3,
                                            .creep_sd_ms = 0.06,
                                            .creep_time_s = 4,
                                            .position_sd_m = 0.3,
                                            .roughness_m = 0.02};

/* log_det and moment times product. */
static double answer(struct cw_whitener *whitener, const struct cw_linear *linear,
                     const struct cw_noise *noise, const double *moment, struct cw_normal *normal) {
    ck_assert_int_eq(cw_whiten(whitener, linear, noise, normal, NULL), CW_OK);
    double sum = normal->log_det;
    for (size_t i = 0; i < normal->n; i++)
        for (size_t j = i; j < normal->n; j++)
            sum +=
                (i == j ? 1 : 2) * moment[i * normal->n + j] * normal->product[i * normal->n + j];
    return sum;
}

/* The slopes against difference quotients, for moments such as solutions have: of the size of the
 * products' inverse, and with every unknown in them. */
static void check_slope(struct cw_whitener *whitener, const struct cw_linear *linear,
                        const struct cw_noise *noise, struct cw_normal *normal) {
    size_t n = normal->n;
    double *moment = malloc(n * n * sizeof *moment), *part = malloc(n * sizeof *part);
    for (size_t i = 0; i < n; i++) {
        double size = normal->product[i * n + i];
        part[i] = (1 + 0.5 * sin(1.7 * (double)i)) / sqrt(size > 0 ? size : 1);
    }
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            moment[i * n + j] =
                part[i] * part[j] * (i == j ? 1.6 : cos(0.9 * ((double)i - (double)j)));
    double slope[CW_NOISE_PARAMETERS] = {0}, by_lag = 0;
    struct cw_places places = {0};
    ck_assert_int_eq(cw_whiten(whitener, linear, noise, normal, &places), CW_OK);
    ck_assert_int_eq(cw_whiten_slope(whitener, linear, noise, normal, &places,
                                     &(struct cw_later){linear, 1}, moment, slope, &by_lag),
                     CW_OK);
    cw_places_free(&places);
    ck_assert_double_eq_tol(by_lag, 0, 1e-9); /* by a lag that is none */
    for (enum cw_noise_parameter k = 0; k < CW_NOISE_PARAMETERS; k++) {
        const double step = 1e-3;
        struct cw_noise up = cw_noise_moved(noise, k, expm1(step)),
                        down = cw_noise_moved(noise, k, expm1(-step));
        double want = (answer(whitener, linear, &up, moment, normal) -
                       answer(whitener, linear, &down, moment, normal)) /
                      (2 * step);
        ck_assert_msg(fabs(slope[k] - want) <= 1e-5 * (1 + fabs(want)),
                      "by number %d: %.9g, differences %.9g", k, slope[k], want);
    }
    free(moment);
    free(part);
}

static void check_run(const struct made_run *made, const struct cw_noise *noise, double lag_s) {
    struct cw_profile profile;
    struct cw_run_data data;
    struct cw_linear linear;
    struct cw_error error;
    made_profile(700, &profile);
    made_run(made, &profile, &data);
    data.break_sd_m[CW_BREAK_LOSS][data.n / 2] = 0.3;
    data.break_sd_m[CW_BREAK_JUMP][data.n / 4] = 1.2;
    ck_assert_int_eq(cw_linear_alloc(&data, &linear, &error), CW_OK);
    const struct cw_basis basis = {&profile, 0.31, 0.0045, lag_s, 0.003, 0.04, 0, 0};
    cw_linear_set(&linear, &basis);

    /* all coefficients of the profile, and only those from the first that the run touches on */
    size_t first = linear.start_node.first < linear.node[0].first ? linear.start_node.first
                                                                  : linear.node[0].first;
    struct dense dense;
    dense_make(&linear, noise, profile.n, &dense);
    size_t width = profile.n + CW_TAIL;
    gsl_matrix *wanted = gsl_matrix_alloc(width, width);
    double log_det = dense_normal(&dense, wanted);
    struct cw_whitener *whitener = cw_whitener_alloc(profile.n);
    ck_assert_ptr_nonnull(whitener);
    for (size_t from = 0; from <= first; from += first ? first : 1) {
        size_t n_nodes = profile.n - from, n = n_nodes + CW_TAIL;
        struct cw_normal normal = {.first_node = from, .n_nodes = n_nodes, .end = linear.n};
        normal.product = malloc(n * n * sizeof *normal.product);
        ck_assert_int_eq(cw_whiten(whitener, &linear, noise, &normal, NULL), CW_OK);
        ck_assert_uint_eq(normal.n, n);
        ck_assert_uint_eq(normal.n_observed, dense.n_seen);
        ck_assert_double_eq_tol(normal.log_det, log_det, 1e-8 * (1 + fabs(log_det)));
        for (size_t i = 0; i < n; i++)
            for (size_t j = i; j < n; j++) {
                double want = gsl_matrix_get(wanted, from + i, from + j);
                double size = sqrt(gsl_matrix_get(wanted, from + i, from + i) *
                                   gsl_matrix_get(wanted, from + j, from + j));
                ck_assert_msg(fabs(normal.product[i * n + j] - want) <= 1e-8 * size,
                              "element %zu %zu: %.12g, dense %.12g of %.3g", i, j,
                              normal.product[i * n + j], want, size);
            }
        check_slope(whitener, &linear, noise, &normal);
        free(normal.product);
    }
    cw_whitener_free(whitener);
    gsl_matrix_free(wanted);
    dense_free(&dense);
    cw_linear_free(&linear);
    cw_run_data_free(&data);
    cw_profile_free(&profile);
}

START_TEST(everything_recorded) {
    check_run(&(struct made_run){true, true, true, 60, 3, 3.5, 1}, &noise_usual, 0);
    check_run(&(struct made_run){true, true, true, 45, 120, 6, 2}, &noise_usual, 2.3);
}
END_TEST

START_TEST(one_kind_recorded) {
    check_run(&(struct made_run){true, false, false, 40, 30, 3.5, 3}, &noise_usual, 0);
    check_run(&(struct made_run){false, true, false, 40, 30, 3.5, 4}, &noise_usual, 0);
    check_run(&(struct made_run){false, false, true, 40, 30, 3.5, 5}, &noise_usual, 1.1);
}
END_TEST

START_TEST(two_kinds_recorded) {
    check_run(&(struct made_run){true, false, true, 50, 30, 3.5, 6}, &noise_usual, 0.4);
    check_run(&(struct made_run){false, true, true, 50, 30, 3.5, 7}, &noise_usual, 4);
    check_run(&(struct made_run){true, true, false, 50, 30, 3.5, 8}, &noise_usual, 0);
}
END_TEST

START_TEST(other_noises) {
    struct cw_noise noise = noise_usual;
    noise.gust_sd_ms = 1.5;
    noise.gust_time_s = 5;
    check_run(&(struct made_run){true, true, true, 50, 30, 3.5, 9}, &noise, 0.8);
    noise = noise_usual;
    noise.gust_sd_ms = 0.005;
    noise.speed_sd_ms = 0.005;
    noise.drift_sd_m = 3;
    check_run(&(struct made_run){true, true, true, 50, 30, 3.5, 10}, &noise, 0.8);
}
END_TEST

START_TEST(two_points) {
    check_run(&(struct made_run){true, true, true, 2, 30, 3.5, 11}, &noise_usual, 0);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/whiten");
    TCase *tests = tcase_create("whiten");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, everything_recorded);
    tcase_add_test(tests, one_kind_recorded);
    tcase_add_test(tests, two_kinds_recorded);
    tcase_add_test(tests, other_noises);
    tcase_add_test(tests, two_points);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
