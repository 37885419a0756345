/* Matrices whose factors, inverses and axes are known in closed form. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "stats/symmetric.h"

enum { N = 12 };

/* Pascal's matrix: its Cholesky factor is Pascal's triangle, its determinant 1 (common knowledge,
 * no source). */
static void pascal(double *a) {
    for (size_t i = 0; i < N; i++)
        for (size_t j = 0; j < N; j++)
            a[i * N + j] = i && j ? a[(i - 1) * N + j] + a[i * N + j - 1] : 1;
}

START_TEST(factor_is_pascals_triangle) {
    double a[N * N];
    pascal(a);
    ck_assert(cw_cholesky_factor(N, a));
    for (size_t i = 0; i < N; i++)
        for (size_t j = 0; j <= i; j++) {
            double wanted = 1; /* binomial(i, j) */
            for (size_t k = 1; k <= j; k++) wanted *= (double)(i - j + k) / (double)k;
            ck_assert_double_eq_tol(a[i * N + j], wanted, 1e-9 * wanted);
        }
}
END_TEST

/* Second differences, 2 on the diagonal and -1 beside it: the inverse is
 * min(i, j) (n + 1 - max(i, j)) / (n + 1), the eigenvalues 2 - 2 cos(k pi / (n + 1)). */
static void differences(double *a) {
    memset(a, 0, N * N * sizeof *a);
    for (size_t i = 0; i < N; i++) {
        a[i * N + i] = 2;
        if (i) a[i * N + i - 1] = a[(i - 1) * N + i] = -1;
    }
}

START_TEST(inverse_of_second_differences) {
    double a[N * N], b[N * 2], factor[N * N];
    differences(a);
    ck_assert(cw_cholesky_inverse(N, a));
    for (size_t i = 1; i <= N; i++)
        for (size_t j = 1; j <= N; j++)
            ck_assert_double_eq_tol(a[(i - 1) * N + j - 1],
                                    (double)((i < j ? i : j) * (N + 1 - (i < j ? j : i))) / (N + 1),
                                    1e-13);
    /* whitened, a column's square is b' a^-1 b */
    differences(factor);
    ck_assert(cw_cholesky_factor(N, factor));
    for (size_t i = 0; i < N; i++) {
        b[2 * i] = 1;
        b[2 * i + 1] = (double)i * (i % 3 ? 1 : -0.5);
    }
    double wanted[2][2] = {{0}}, got[2][2] = {{0}};
    for (size_t i = 0; i < N; i++)
        for (size_t j = 0; j < N; j++)
            for (int p = 0; p < 2; p++)
                for (int q = 0; q < 2; q++)
                    wanted[p][q] += b[2 * i + (size_t)p] * a[i * N + j] * b[2 * j + (size_t)q];
    cw_cholesky_whiten(N, factor, 2, b);
    for (size_t i = 0; i < N; i++)
        for (int p = 0; p < 2; p++)
            for (int q = 0; q < 2; q++) got[p][q] += b[2 * i + (size_t)p] * b[2 * i + (size_t)q];
    for (int p = 0; p < 2; p++)
        for (int q = 0; q < 2; q++)
            ck_assert_double_eq_tol(got[p][q], wanted[p][q], 1e-12 * fabs(wanted[1][1]));
}
END_TEST

/* Of every size, for rows are taken several at once and the last ones by themselves. The
 * solution is a parabola that is 0 at n + 1 and 0.37 (n + 1) at 0. */
START_TEST(inverses_and_solutions_of_any_size) {
    for (size_t n = 1; n <= N; n++) {
        double a[N * N] = {0}, b[N];
        for (size_t i = 0; i < n; i++) {
            a[i * n + i] = 2;
            if (i) a[i * n + i - 1] = a[(i - 1) * n + i] = -1;
            b[i] = i ? 1 : 1 + 0.37 * ((double)n + 1);
        }
        ck_assert(cw_cholesky_factor(n, a));
        cw_cholesky_solve(n, a, b);
        for (size_t i = 1; i <= n; i++) {
            double left = (double)(n + 1 - i);
            ck_assert_double_eq_tol(b[i - 1], 0.5 * (double)i * left + 0.37 * left, 1e-12);
        }
        cw_cholesky_invert(n, a);
        for (size_t i = 1; i <= n; i++)
            for (size_t j = 1; j <= n; j++)
                ck_assert_double_eq_tol(
                    a[(i - 1) * n + j - 1],
                    (double)((i < j ? i : j) * (n + 1 - (i < j ? j : i))) / (double)(n + 1), 1e-13);
    }
}
END_TEST

static int by_value(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

START_TEST(axes_of_second_differences) {
    double a[N * N], whole[N * N], value[N], axes[N * N];
    differences(a);
    differences(whole);
    ck_assert_int_eq(cw_symmetric_axes(N, a, value, axes, NULL), CW_OK);
    for (size_t i = 0; i < N; i++)
        for (size_t j = 0; j < N; j++) {
            double sum = 0, product = 0;
            for (size_t k = 0; k < N; k++) {
                sum += value[k] * axes[i * N + k] * axes[j * N + k];
                product += axes[k * N + i] * axes[k * N + j];
            }
            ck_assert_double_eq_tol(sum, whole[i * N + j], 1e-13);
            ck_assert_double_eq_tol(product, i == j, 1e-13);
        }
    qsort(value, N, sizeof *value, by_value);
    for (size_t k = 1; k <= N; k++)
        ck_assert_double_eq_tol(value[k - 1],
                                2 - 2 * cos((double)k * 3.14159265358979323846 / (N + 1)), 1e-13);
}
END_TEST

START_TEST(what_has_no_factor) {
    double singular[4] = {1, 2, 2, 4}, indefinite[4] = {1, 0, 0, -1}, hole[4] = {1, 0, NAN, 1},
           endless[4] = {INFINITY, 0, 0, 1}, zero[1] = {0}, value[2], axes[4];
    struct cw_error error;
    ck_assert(!cw_cholesky_inverse(2, singular));
    ck_assert(!cw_cholesky_inverse(2, indefinite));
    ck_assert(!cw_cholesky_inverse(2, hole));
    ck_assert(!cw_cholesky_inverse(2, endless));
    ck_assert(!cw_cholesky_inverse(1, zero));
    double again[4] = {1, 0, NAN, 1};
    ck_assert_int_eq(cw_symmetric_axes(2, again, value, axes, &error), CW_E_NUMERIC);
    double nothing[4] = {0}; /* is an answer: two axes of no length */
    ck_assert_int_eq(cw_symmetric_axes(2, nothing, value, axes, &error), CW_OK);
    ck_assert_double_eq(value[0], 0);
    ck_assert_double_eq(value[1], 0);
    ck_assert_int_eq(cw_symmetric_axes(0, NULL, NULL, NULL, &error), CW_OK);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("stats/symmetric");
    TCase *tests = tcase_create("symmetric");
    tcase_add_test(tests, factor_is_pascals_triangle);
    tcase_add_test(tests, inverse_of_second_differences);
    tcase_add_test(tests, inverses_and_solutions_of_any_size);
    tcase_add_test(tests, axes_of_second_differences);
    tcase_add_test(tests, what_has_no_factor);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
