/* The smoothed motion of a run against its conditional mean from dense covariance matrices. */
#include <check.h>
#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

#include "dense.h"
#include "fit/smooth.h"
#include "fit/whiten.h"

static const struct cw_noise noise_usual = {.gust_sd_ms = 0.25,
                                            .gust_time_s = 15,
                                            .drift_sd_m = 0.4,
                                            .drift_time_s = 150,
                                            .elevation_sd_m = 0.06,
                                            .speed_sd_ms = 0.11,
                                            .wander_sd_m = 1.2,
                                            .wander_time_s = 60,
                                            .jitter_sd_m = 0.4,
                                            .jitter_time_s = 3,
                                            .creep_sd_ms = 0.06,
                                            .creep_time_s = 4,
                                            .position_sd_m = 0.3};
/* The smoother's own knowledge of the energy at the start: 10 m. */
static const double offset_sd_m = 4, shift_sd_m = 15, energy_sd_m = 10;

/* Mean of all inputs given the observations: K G' (G K G' + R)^-1 y. And what the observations say
 * of a metre lost or jumped on each step, c being what they answer to it: pull c' V^-1 y, precision
 * c' V^-1 c. */
static void conditional_mean(const struct dense *d, gsl_vector *mean,
                             struct cw_told_break (*told)[CW_BREAKS]) {
    size_t m = d->n_seen, n = d->input.n;
    gsl_matrix *k = gsl_matrix_calloc(n, n), *kg = gsl_matrix_alloc(n, m),
               *v = gsl_matrix_alloc(m, m);
    for (size_t i = 0; i < d->input.node; i++)
        for (size_t j = 0; j < d->input.node; j++)
            gsl_matrix_set(k, i, j, gsl_matrix_get(d->inputs, i, j));
    gsl_matrix_set(k, d->input.shift, d->input.shift, shift_sd_m * shift_sd_m);
    gsl_matrix_set(k, d->input.energy, d->input.energy, energy_sd_m * energy_sd_m);
    gsl_matrix_memcpy(v, d->recording);
    for (size_t i = 0; i < m; i++)
        for (size_t j = 0; j < m; j++)
            if (d->is_height[i] && d->is_height[j])
                *gsl_matrix_ptr(v, i, j) += offset_sd_m * offset_sd_m;
    gsl_blas_dgemm(CblasNoTrans, CblasTrans, 1, k, d->by_input, 0, kg);
    gsl_blas_dgemm(CblasNoTrans, CblasNoTrans, 1, d->by_input, kg, 1, v);
    gsl_vector *y = gsl_vector_alloc(m);
    for (size_t i = 0; i < m; i++)
        gsl_vector_set(y, i, gsl_matrix_get(d->columns, i, d->n_nodes + CW_TAIL_DATA));
    gsl_linalg_cholesky_decomp1(v);
    gsl_linalg_cholesky_svx(v, y);
    gsl_vector *by_break = gsl_vector_alloc(m);
    const size_t first[CW_BREAKS] = {
        [CW_BREAK_LOSS] = d->input.loss, [CW_BREAK_JUMP] = d->input.jump};
    for (size_t i = 0; i + 1 < d->n_points; i++)
        for (int kind = 0; kind < CW_BREAKS; kind++) {
            gsl_vector_const_view c = gsl_matrix_const_column(d->by_input, first[kind] + i);
            gsl_linalg_cholesky_solve(v, &c.vector, by_break);
            gsl_blas_ddot(&c.vector, y, &told[i][kind].pull);
            gsl_blas_ddot(&c.vector, by_break, &told[i][kind].precision);
        }
    gsl_vector_free(by_break);
    gsl_blas_dgemv(CblasNoTrans, 1, kg, y, 0, mean);
    gsl_vector_set(mean, d->input.one, 1);
    gsl_matrix_free(k);
    gsl_matrix_free(kg);
    gsl_matrix_free(v);
    gsl_vector_free(y);
}

static void check_run(const struct made_run *made, double lag_s) {
    struct cw_profile profile;
    struct cw_run_data data;
    struct cw_linear linear;
    struct cw_error error;
    made_profile(700, &profile);
    made_run(made, &profile, &data);
    data.break_sd_m[CW_BREAK_LOSS][data.n / 3] = 0.4;
    data.break_sd_m[CW_BREAK_JUMP][data.n / 2] = 0.7;
    ck_assert_int_eq(cw_linear_alloc(&data, &linear, &error), CW_OK);
    const struct cw_basis basis = {&profile, 0.33, 0.004, lag_s, 0.002, 0.04, 0, 0};
    cw_linear_set(&linear, &basis);
    struct dense dense;
    dense_make(&linear, &noise_usual, profile.n, &dense);
    size_t n = data.n;
    gsl_vector *mean = gsl_vector_alloc(dense.input.n), *motion = gsl_vector_alloc(2 * n);
    struct cw_told_break(*should)[CW_BREAKS] = malloc(2 * n * sizeof *should),
           (*told)[CW_BREAKS] = should + n;
    conditional_mean(&dense, mean, should);
    ck_assert_int_eq(cw_smooth_breaks(&linear, &noise_usual, offset_sd_m, shift_sd_m, told, &error),
                     CW_OK);
    for (size_t i = 0; i + 1 < n; i++)
        for (int kind = 0; kind < CW_BREAKS; kind++) {
            const struct cw_told_break *is = &told[i][kind], *ought = &should[i][kind];
            ck_assert_double_eq_tol(is->pull, ought->pull, 1e-6 * (1 + fabs(ought->pull)));
            ck_assert_double_eq_tol(is->precision, ought->precision,
                                    1e-12 + 1e-7 * ought->precision);
        }
    free(should);
    gsl_blas_dgemv(CblasNoTrans, 1, dense.motion, mean, 0, motion);

    double *s = malloc(3 * n * sizeof *s), *v = s + n, *gust = s + 2 * n, moved = 0;
    for (size_t i = 0; i < n; i++) {
        s[i] = data.s_m[i] + gsl_vector_get(motion, i);
        v[i] = data.speed_ms[i] + gsl_vector_get(motion, n + i);
        moved = fmax(moved, fabs(gsl_vector_get(motion, n + i)));
    }
    ck_assert_double_gt(moved, 0.01); /* or there would be nothing to see */
    ck_assert_int_eq(
        cw_smooth_motion(&linear, &noise_usual, offset_sd_m, shift_sd_m, &data, gust, &error),
        CW_OK);
    for (size_t i = 0; i < n; i++) {
        ck_assert_double_eq_tol(data.s_m[i], s[i], 1e-7);
        ck_assert_double_eq_tol(data.speed_ms[i], v[i], 1e-8);
        ck_assert_double_eq_tol(gust[i], gsl_vector_get(mean, dense.input.gust + i), 1e-8);
    }
    free(s);
    gsl_vector_free(mean);
    gsl_vector_free(motion);
    dense_free(&dense);
    cw_linear_free(&linear);
    cw_run_data_free(&data);
    cw_profile_free(&profile);
}

START_TEST(everything_recorded) {
    check_run(&(struct made_run){true, true, true, 55, 3, 4, 21}, 0);
    check_run(&(struct made_run){true, true, true, 40, 90, 7, 22}, 1.6);
}
END_TEST

START_TEST(positions_and_heights) {
    check_run(&(struct made_run){false, true, true, 50, 3, 4, 23}, 0.5);
}
END_TEST

START_TEST(one_kind_recorded) {
    check_run(&(struct made_run){true, false, false, 40, 3, 4, 24}, 0);
    check_run(&(struct made_run){false, true, false, 40, 3, 4, 25}, 0);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/smooth");
    TCase *tests = tcase_create("smooth");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, everything_recorded);
    tcase_add_test(tests, positions_and_heights);
    tcase_add_test(tests, one_kind_recorded);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
