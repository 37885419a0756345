#include <check.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

#include "fit/ground.h"

enum { N = 12, FIRST = 3, MAPPED = 7 };
static const double roughness_m = 0.07, bend_m = 0.01, map_sd_m = 2.3, map_length_m = 45,
                    alike_m = 30;

/* Adds factors' covariance^-1 factors of what is off (m numbers, each a row of factors of the N
 * unknowns) to sums, N + 1 square; returns log det of the covariance. Made number by number. */
static double add_dense(size_t m, double (*factors)[N], const double *off, gsl_matrix *covariance,
                        double sums[N + 1][N + 1]) {
    double log_det = 0, all[N][N + 1];
    for (size_t i = 0; i < m; i++) {
        for (size_t k = 0; k < N; k++) all[i][k] = factors[i][k];
        all[i][N] = off[i];
    }
    ck_assert_int_eq(gsl_linalg_cholesky_decomp1(covariance), 0);
    for (size_t i = 0; i < m; i++) log_det += 2 * log(gsl_matrix_get(covariance, i, i));
    gsl_linalg_cholesky_invert(covariance);
    for (size_t a = 0; a <= N; a++)
        for (size_t b = 0; b <= N; b++)
            for (size_t i = 0; i < m; i++)
                for (size_t j = 0; j < m; j++)
                    sums[a][b] += all[i][a] * gsl_matrix_get(covariance, i, j) * all[j][b];
    return log_det;
}

/* The sums and their normalisation against covariances inverted as a whole: of the second
 * differences, and of a map's errors, either exp(-distance/length) alike. */
START_TEST(smooth_and_mapped) {
    struct cw_profile profile;
    struct cw_error error;
    ck_assert_int_eq(cw_profile_make(0, 15 * (N - 3), 15, &profile, &error), CW_OK);
    ck_assert_uint_eq(profile.n, N);
    for (size_t i = 0; i < N; i++)
        profile.coefficient_m[i] = 50 - (double)i + 0.3 * sin(3.0 * (double)i);
    struct cw_ground ground;
    /* its first coefficients are those that act at 15 m x FIRST, its last those at the end */
    ck_assert_int_eq(
        cw_ground_make(&profile, 15 * FIRST + 1, 15 * (FIRST + MAPPED - 4) + 1, &ground, &error),
        CW_OK);
    ck_assert_uint_eq(ground.first, FIRST);
    ck_assert_uint_eq(ground.n, MAPPED);
    for (size_t i = 0; i < MAPPED; i++) {
        ck_assert_double_eq(ground.height_m[i], profile.coefficient_m[FIRST + i]);
        ground.height_m[i] += 1.5 * cos(2.0 * (double)i);
    }
    enum { BEND, NODES, DATA = NODES + N, ALL };
    double got[ALL * ALL] = {0}, row[ALL], wanted[N + 1][N + 1] = {{0}}, log_det = 0;
    struct cw_equations e = {.n = ALL, .a = got};
    const struct cw_noise noise = {
        .roughness_m = roughness_m, .map_sd_m = map_sd_m, .map_length_m = map_length_m};
    /* in three parts, as a road's fronts have it */
    static const size_t cut[4] = {0, 4, FIRST + 3, N};
    for (int k = 0; k < 3; k++)
        cw_ground_add(&ground, &profile, &noise,
                      &(struct cw_ground_place){cut[k], cut[k + 1], NODES + cut[k], BEND}, &e,
                      &log_det);
    cw_ground_add_bend(BEND, &e, &log_det);
    ck_assert(cw_equations_eliminate(&e, BEND, NODES, row, &log_det));

    double factors[N][N] = {{0}}, off[N];
    gsl_matrix *covariance = gsl_matrix_alloc(N - 2, N - 2);
    for (size_t i = 0; i + 2 < N; i++) {
        const double *c = profile.coefficient_m + i;
        factors[i][i] = factors[i][i + 2] = 1;
        factors[i][i + 1] = -2;
        off[i] = c[0] - 2 * c[1] + c[2];
        for (size_t j = 0; j + 2 < N; j++)
            gsl_matrix_set(covariance, i, j,
                           bend_m * bend_m + roughness_m * roughness_m *
                                                 exp(-15 * fabs((double)i - (double)j) / alike_m));
    }
    double normal = add_dense(N - 2, factors, off, covariance, wanted);
    gsl_matrix_free(covariance);
    covariance = gsl_matrix_alloc(MAPPED, MAPPED);
    for (size_t i = 0; i < MAPPED; i++) {
        for (size_t k = 0; k < N; k++) factors[i][k] = k == FIRST + i;
        off[i] = profile.coefficient_m[FIRST + i] - ground.height_m[i];
        for (size_t j = 0; j < MAPPED; j++)
            gsl_matrix_set(covariance, i, j,
                           map_sd_m * map_sd_m *
                               exp(-15 * fabs((double)i - (double)j) / map_length_m));
    }
    normal += add_dense(MAPPED, factors, off, covariance, wanted);
    gsl_matrix_free(covariance);
    for (size_t a = 0; a <= N; a++)
        for (size_t b = a; b <= N; b++)
            ck_assert_double_eq_tol(got[(NODES + a) * ALL + NODES + b], wanted[a][b],
                                    2e-9 + 1e-9 * fabs(wanted[a][b]));
    ck_assert_double_eq_tol(log_det, normal, 1e-9 * fabs(normal));
    cw_ground_free(&ground);
    cw_profile_free(&profile);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/ground");
    TCase *tests = tcase_create("ground");
    tcase_add_test(tests, smooth_and_mapped);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
