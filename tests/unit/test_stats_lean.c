/* Lean covariances: matrices are taken apart to what was put in, and what a point of the grid comes
 * to is what the whole matrix makes of it, worked out here by plain elimination. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dense.h"
#include "stats/lean.h"

enum { N = 120, P = 2, SHARED = 5 };

/* Values as runs have them: noise of their own and of five kinds that they share (one of which goes
 * the other way), a trend, a scatter, and what goes on from one to the next: some of it falls off
 * exponentially in the time between them, some is over after a few. */
struct table {
    double value[N], design[N * P], noise[N * N], fixed[N * N], own[N * N], wind[N * N], carry[N],
        at[N];
    size_t order[N];
};

static void make(struct table *t, unsigned long seed) {
    double kind[SHARED][N], sign[SHARED] = {1, 1, -0.3, 1, 1}, by[N], share[N];
    memset(t, 0, sizeof *t);
    for (size_t i = 0; i < N; i++) {
        /* in time i * 7 % N comes before (i + 1) * 7 % N */
        t->order[i] = i * 7 % N;
        t->at[i * 7 % N] = 0.4 * (double)i + 0.2 * made_even(&seed);
        by[i] = 0.2 + 0.05 * made_even(&seed);
        share[i] = 1 + 0.1 * made_even(&seed);
        t->value[i] = made_normal(&seed);
        t->design[i * P + i % P] = 1;
    }
    for (size_t k = 0; k < SHARED; k++)
        for (size_t i = 0; i < N; i++)
            kind[k][i] = 0.1 * pow(10, -(double)k) * (1 + 0.5 * made_normal(&seed));
    for (size_t i = 0; i < N; i++) {
        size_t now = t->order[i], before = i ? t->order[i - 1] : now;
        t->carry[i] =
            exp(t->at[before] - t->at[now]) * by[now] * share[now] / (by[before] * share[before]);
        for (size_t j = 0; j < N; j++) {
            double apart = fabs(t->at[i] - t->at[j]);
            for (size_t k = 0; k < SHARED; k++)
                t->noise[i * N + j] += sign[k] * kind[k][i] * kind[k][j];
            t->noise[i * N + j] += i == j ? 0.05 + 0.01 * (double)(i % 3) : 0;
            t->fixed[i * N + j] = 1e-3 * ((double)i - 60) * ((double)j - 60) / 3600;
            t->own[i * N + j] = i == j;
            t->wind[i * N + j] = by[i] * by[j] *
                                 (0.75 * exp(-0.5 * pow(apart / 0.1, 2)) +
                                  0.25 * (i == j ? 1.5 : exp(-apart) * share[i] * share[j]));
        }
    }
}

static struct cw_components_data data_of(const struct table *t) {
    return (struct cw_components_data){.n = N,
                                       .p = P,
                                       .value = t->value,
                                       .design = t->design,
                                       .fixed = t->fixed,
                                       .n_components = 3,
                                       .component = {{t->noise, CW_COMPONENT_STATED, 60, 0},
                                                     {t->own, CW_COMPONENT_SCATTER, 0.1, 0},
                                                     {t->wind, CW_COMPONENT_SCATTER, 0.1, 0}},
                                       .order = t->order,
                                       .carry = t->carry};
}

/* [X y]'V^-1 [X y] and log det V, by Gauss' elimination of V with those beside it. */
static double plain(const struct table *t, const double *theta, double *products) {
    enum { M = P + 1, W = N + M };
    static double a[N * W], b[N * M];
    double log_det = 0;
    for (size_t i = 0; i < N; i++) {
        for (size_t j = 0; j < N; j++)
            a[i * W + j] = t->fixed[i * N + j] + theta[0] * theta[0] * t->noise[i * N + j] +
                           theta[1] * theta[1] * t->own[i * N + j] +
                           theta[2] * theta[2] * t->wind[i * N + j];
        for (size_t k = 0; k < M; k++)
            b[i * M + k] = a[i * W + N + k] = k < P ? t->design[i * P + k] : t->value[i];
    }
    for (size_t k = 0; k < N; k++) {
        log_det += log(a[k * W + k]);
        for (size_t i = 0; i < N; i++) {
            double factor = a[i * W + k] / a[k * W + k];
            for (size_t j = k; j < W && i != k; j++) a[i * W + j] -= factor * a[k * W + j];
        }
    }
    for (size_t k = 0; k < M; k++)
        for (size_t l = 0; l < M; l++) {
            products[k * M + l] = 0;
            for (size_t i = 0; i < N; i++)
                products[k * M + l] += b[i * M + k] * a[i * W + N + l] / a[i * W + i];
        }
    return log_det;
}

START_TEST(a_point_is_as_the_whole_has_it) {
    static struct table t;
    static const double thetas[][3] = {{1, 0.1, 0.3}, {0.7, 0, 1}, {1.4, 0.02, 0}, {1, 0, 0}};
    struct cw_lean *lean;
    make(&t, 3);
    struct cw_components_data data = data_of(&t);
    ck_assert_int_eq(cw_lean_make(&data, &lean, NULL), CW_OK);
    ck_assert_ptr_nonnull(lean);
    for (size_t k = 0; k < sizeof thetas / sizeof *thetas; k++) {
        double products[(P + 1) * (P + 1)], whole[(P + 1) * (P + 1)], log_det;
        ck_assert(cw_lean_products(lean, thetas[k], products, &log_det));
        ck_assert_double_eq_tol(log_det / plain(&t, thetas[k], whole), 1, 1e-9);
        for (size_t a = 0; a <= P; a++)
            for (size_t b = 0; b <= P; b++)
                ck_assert_double_eq_tol(products[a * (P + 1) + b], whole[a * (P + 1) + b],
                                        1e-8 * sqrt(whole[a * (P + 2)] * whole[b * (P + 2)]));
    }
    cw_lean_free(lean);
}
END_TEST

/* Without the order nothing is known of what goes on, and all is done whole: the same answers. */
START_TEST(a_fit_is_the_same_done_whole) {
    static struct table t;
    struct cw_components lean, whole;
    struct cw_lean *none;
    make(&t, 8);
    struct cw_components_data data = data_of(&t), other = data;
    other.order = NULL;
    other.carry = NULL;
    ck_assert_int_eq(cw_lean_make(&other, &none, NULL), CW_OK);
    ck_assert_ptr_null(none);
    ck_assert_int_eq(cw_components_fit(&data, &lean, NULL), CW_OK);
    ck_assert_int_eq(cw_components_fit(&other, &whole, NULL), CW_OK);
    ck_assert_uint_eq(lean.n_points, whole.n_points);
    ck_assert_double_eq_tol(lean.log_evidence, whole.log_evidence, 1e-7);
    for (size_t i = 0; i < whole.n_points; i++) {
        ck_assert_double_eq_tol(lean.weight[i], whole.weight[i], 1e-8);
        for (size_t k = 0; k < P; k++)
            ck_assert_double_eq_tol(lean.coefficient[i * P + k], whole.coefficient[i * P + k],
                                    1e-8 * sqrt(whole.covariance[i * P * P + k * (P + 1)]));
        for (size_t k = 0; k < P * P; k++)
            ck_assert_double_eq_tol(
                lean.covariance[i * P * P + k] / whole.covariance[i * P * P + k], 1, 1e-8);
    }
    for (size_t k = 0; k < 3; k++)
        ck_assert_double_eq_tol(lean.of[k].median / whole.of[k].median, 1, 1e-8);
    cw_components_free(&lean);
    cw_components_free(&whole);
}
END_TEST

START_TEST(a_matrix_is_taken_apart) {
    static struct table t;
    static double h[N * N], diagonal[N], sign[N];
    size_t rank;
    make(&t, 5);
    ck_assert(cw_lean_split(N, t.noise, 1e-13, 30, diagonal, h, sign, &rank));
    ck_assert_uint_eq(rank, SHARED);
    for (size_t i = 0; i < N; i++) {
        ck_assert_double_eq_tol(diagonal[i], 0.05 + 0.01 * (double)(i % 3), 1e-9);
        for (size_t j = 0; j < N; j++) {
            double sum = i == j ? diagonal[i] : 0;
            for (size_t k = 0; k < rank; k++) sum += sign[k] * h[k * N + i] * h[k * N + j];
            ck_assert_double_eq_tol(sum, t.noise[i * N + j], 1e-13);
        }
    }
    /* a diagonal is one, and has nothing besides */
    ck_assert(cw_lean_split(N, t.own, 1e-13, 30, diagonal, h, sign, &rank));
    ck_assert_uint_eq(rank, 0);
    ck_assert_double_eq(diagonal[17], 1);
    /* what falls off with time has full rank */
    ck_assert(!cw_lean_split(N, t.wind, 1e-13, 30, diagonal, h, sign, &rank));
    /* not a number */
    t.noise[5 * N + 9] = t.noise[9 * N + 5] = NAN;
    ck_assert(!cw_lean_split(N, t.noise, 1e-13, 30, diagonal, h, sign, &rank));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("stats/lean");
    TCase *tests = tcase_create("lean");
    tcase_add_test(tests, a_point_is_as_the_whole_has_it);
    tcase_add_test(tests, a_fit_is_the_same_done_whole);
    tcase_add_test(tests, a_matrix_is_taken_apart);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
