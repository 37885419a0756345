/* Solving and loosening against the formulas written out with dense inverses. */
#include <check.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "dense.h"
#include "fit/information.h"

enum { TYRES = 2, RUNS = 4, N = TYRES + RUNS };
/* what fit/information.h says x is held by, without and with what bicycles have */
static const double nought[N] = {0}, widest[N] = {0.1, 0.1, 3, 3, 3, 3};
static const double usual[N] = {0.006, 0.006, 0.37, 0.37, 0.37, 0.37};
static const double usual_sd[N] = {0.005, 0.005, 3, 3, 3, 3};
static const double level_sd = 0.12;

static void make(struct cw_information *information) {
    struct cw_error error;
    unsigned long state = 77;
    double root[N][N];
    ck_assert_int_eq(cw_information_alloc(TYRES, RUNS, information, &error), CW_OK);
    ck_assert_uint_eq(information->n, N);
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++)
            root[i][j] = made_normal(&state) * (j < TYRES ? 1e4 : 200); /* se of Crr 1e-4.. */
    for (int i = 0; i < N; i++) {
        information->vector[i] = made_normal(&state) * (i < TYRES ? 1e6 : 3e4);
        for (int j = 0; j < N; j++)
            for (int k = 0; k < N; k++) information->matrix[i * N + j] += root[k][i] * root[k][j];
    }
}

static void invert(const double *matrix, const double *add, double of_mean, double *out) {
    gsl_matrix *a = gsl_matrix_alloc(N, N);
    gsl_permutation *p = gsl_permutation_alloc(N);
    gsl_matrix_view to = gsl_matrix_view_array(out, N, N);
    int sign;
    for (size_t i = 0; i < N; i++)
        for (size_t j = 0; j < N; j++)
            gsl_matrix_set(a, i, j,
                           matrix[i * N + j] + (i == j ? add[i] : 0) +
                               (i >= TYRES && j >= TYRES ? of_mean : 0));
    gsl_linalg_LU_decomp(a, p, &sign);
    gsl_linalg_LU_invert(a, p, &to.matrix);
    gsl_matrix_free(a);
    gsl_permutation_free(p);
}

static void check_matrix(const double *got, const double *wanted, double tolerance) {
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) {
            double size = sqrt(wanted[i * N + i] * wanted[j * N + j]);
            ck_assert_double_eq_tol(got[i * N + j], wanted[i * N + j], tolerance * size);
        }
}

static void check_solve(bool as_usual) {
    struct cw_information information;
    struct cw_error error;
    double value[N], covariance[N * N], wanted[N * N], hold[N];
    const double *about = as_usual ? usual : nought, *sd = as_usual ? usual_sd : widest;
    enum cw_status (*solve)(const struct cw_information *, double *, double *, struct cw_error *) =
        as_usual ? cw_information_solve_usual : cw_information_solve;
    make(&information);
    for (int i = 0; i < N; i++) hold[i] = 1 / (sd[i] * sd[i]);
    invert(information.matrix, hold, as_usual ? 1 / (RUNS * level_sd * RUNS * level_sd) : 0,
           wanted);
    ck_assert_int_eq(solve(&information, value, covariance, &error), CW_OK);
    check_matrix(covariance, wanted, 1e-9);
    for (int i = 0; i < N; i++) {
        double sum = about[i];
        for (int j = 0; j < N; j++) {
            double off = information.vector[j];
            for (int k = 0; k < N; k++) off -= information.matrix[j * N + k] * about[k];
            sum += wanted[i * N + j] * off;
        }
        ck_assert_double_eq_tol(value[i], sum, 1e-7 * sqrt(wanted[i * N + i]));
    }
    ck_assert_int_eq(solve(&information, NULL, covariance, &error), CW_OK);
    ck_assert_int_eq(solve(&information, value, NULL, &error), CW_OK);
    cw_information_free(&information);
}

START_TEST(solve) {
    check_solve(false);
    check_solve(true);
}
END_TEST

/* What cannot be told apart gets wide errors, not none: two CdA of which only the sum is known. */
START_TEST(singular) {
    struct cw_information information;
    struct cw_error error;
    double value[N], covariance[N * N], mean_variance = 0;
    ck_assert_int_eq(cw_information_alloc(TYRES, RUNS, &information, &error), CW_OK);
    /* nothing known at all; the mean of the usual ones is not free: (I/9 + 1 1'/(RUNS
     * level_sd)2)^-1 by Sherman and Morrison */
    double q = 9 / (RUNS * level_sd * RUNS * level_sd);
    ck_assert_int_eq(cw_information_solve_usual(&information, value, covariance, &error), CW_OK);
    for (int i = 0; i < N; i++) {
        double held = i < TYRES ? usual_sd[i] : 3 * sqrt(1 - q / (1 + RUNS * q));
        ck_assert_double_eq_tol(value[i], usual[i], 1e-15);
        ck_assert_double_eq_tol(sqrt(covariance[i * N + i]), held, 1e-9 * held);
        for (int j = TYRES; j < N && i >= TYRES; j++)
            mean_variance += covariance[i * N + j] / (RUNS * RUNS);
    }
    ck_assert_double_eq_tol(sqrt(mean_variance), level_sd, 0.01 * level_sd);
    ck_assert_int_eq(cw_information_solve(&information, value, covariance, &error), CW_OK);
    for (int i = 0; i < N; i++) {
        ck_assert_double_eq_tol(value[i], 0, 1e-15);
        ck_assert_double_eq_tol(sqrt(covariance[i * N + i]), widest[i], 1e-12);
    }
    for (int i = 2; i < 4; i++) { /* x2 + x3 = 0.7 within 1e-3 */
        information.vector[i] = 0.7e6;
        for (int j = 2; j < 4; j++) information.matrix[i * N + j] = 1e6;
    }
    ck_assert_int_eq(cw_information_solve(&information, value, covariance, &error), CW_OK);
    ck_assert_double_eq_tol(value[2] + value[3], 0.7, 1e-6);
    ck_assert_double_eq_tol(sqrt(covariance[2 * N + 2]), 3 / sqrt(2), 1e-3);
    double sum = covariance[2 * N + 2] + 2 * covariance[2 * N + 3] + covariance[3 * N + 3];
    ck_assert_double_eq_tol(sum, 1e-6, 1e-9);
    information.matrix[0] = -1e9; /* no likelihood looks like this */
    ck_assert_int_eq(cw_information_solve(&information, value, covariance, &error), CW_E_NUMERIC);
    information.matrix[0] = NAN;
    ck_assert_int_eq(cw_information_solve(&information, value, covariance, &error), CW_E_NUMERIC);
    cw_information_free(&information);
}
END_TEST

/* A parameter that was held: the covariance grows by variance g g', the estimate stays. */
START_TEST(loosen) {
    static const double by_parameter[N] = {3e-4, -1e-4, 0.02, 0.011, -0.004, 0.03};
    static const double none[N] = {0};
    struct cw_information information;
    struct cw_error error;
    double before[N], after[N], wanted[N * N], got[N * N];
    make(&information);
    invert(information.matrix, none, 0, wanted);
    ck_assert_int_eq(cw_information_solve(&information, before, NULL, &error), CW_OK);
    ck_assert_int_eq(cw_information_loosen(&information, by_parameter, 0, &error), CW_OK);
    ck_assert_int_eq(cw_information_loosen(&information, by_parameter, 0.3, &error), CW_OK);
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) wanted[i * N + j] += 0.3 * by_parameter[i] * by_parameter[j];
    invert(information.matrix, none, 0, got);
    check_matrix(got, wanted, 1e-7);
    ck_assert_int_eq(cw_information_solve(&information, after, NULL, &error), CW_OK);
    for (int i = 0; i < N; i++)
        ck_assert_double_eq_tol(after[i], before[i], 1e-4 * sqrt(wanted[i * N + i]));
    cw_information_free(&information);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/information");
    TCase *tests = tcase_create("information");
    tcase_add_test(tests, solve);
    tcase_add_test(tests, singular);
    tcase_add_test(tests, loosen);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
