#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "fit/reml.h"

static struct cw_reml reml;
static struct cw_error error;

static void begin(void) {
    reml = (struct cw_reml){0};
}

/* -2 log likelihood of two parameters with a known peak and information. */
static const double peak[2] = {0.4, -1.2}, information[2][2] = {{30, 12}, {12, 9}};

static enum cw_status hill(const double *x, void *state, double *minus_2_log, double *by) {
    (void)by;
    (void)state;
    *minus_2_log = 17;
    for (int i = 0; i < 2; i++)
        for (int j = 0; j < 2; j++)
            *minus_2_log += (x[i] - peak[i]) * information[i][j] * (x[j] - peak[j]);
    return CW_OK;
}

START_TEST(a_quadratic_is_solved_with_its_priors) {
    const struct cw_reml_prior prior[2] = {{0, 0.5, -3, 3, 0}, {0, 1.5, -3, 3, 0}};
    ck_assert_int_eq(cw_reml_minimise(hill, NULL, 2, prior, 1e-9, 1, &reml, &error), CW_OK);
    /* The normal equations, priors added: (J + P) x = J peak; the covariance is (J + P)^-1. */
    double a = 30 + 4, b = 12, d = 9 + 1 / 2.25, det = a * d - b * b;
    double u = 30 * 0.4 - 12 * 1.2, v = 12 * 0.4 - 9 * 1.2;
    /* The search's gradients are forward differences over 0.02, so it ends within about that. */
    ck_assert_double_eq_tol(reml.parameter[0], (d * u - b * v) / det, 0.02);
    ck_assert_double_eq_tol(reml.parameter[1], (a * v - b * u) / det, 0.02);
    ck_assert_double_eq_tol(reml.covariance[0][0], d / det, 1e-6);
    ck_assert_double_eq_tol(reml.covariance[0][1], -b / det, 1e-6);
    ck_assert_double_eq_tol(reml.covariance[1][0], -b / det, 1e-6);
    ck_assert_double_eq_tol(reml.covariance[1][1], a / det, 1e-6);
}
END_TEST

START_TEST(a_parameter_without_a_prior_width_is_held) {
    const struct cw_reml_prior prior[2] = {{0, 0.5, -3, 3, 0}, {0, 0, -3, 3, 0}};
    reml.parameter[1] = 0.25;
    ck_assert_int_eq(cw_reml_minimise(hill, NULL, 2, prior, 1e-9, 1, &reml, &error), CW_OK);
    ck_assert(reml.parameter[1] == 0.25);
    ck_assert(reml.covariance[1][1] == 0 && reml.covariance[0][1] == 0);
    ck_assert_double_eq_tol(reml.covariance[0][0], 1.0 / 34, 1e-6);
}
END_TEST

/* Falls without end towards high sums of its parameters, and bends down as it goes. */
static enum cw_status slope(const double *x, void *state, double *minus_2_log, double *by) {
    (void)by;
    (void)state;
    double sum = x[0] + x[1], difference = x[0] - x[1];
    *minus_2_log = -20 * sum - 3 * sum * sum + 40 * difference * difference;
    return CW_OK;
}

/* Guards against a fault: at a bound the likelihood curved the wrong way, the curvature was nearly
 * singular, and a noise's interval came out wider than its prior, so that nothing that depended on
 * it could be told. */
START_TEST(at_a_bound_no_more_is_unknown_than_the_priors_say) {
    const struct cw_reml_prior prior[2] = {{0, 1, -2, 0.7, 0}, {0, 0.5, -2, 0.5, 0}};
    ck_assert_int_eq(cw_reml_minimise(slope, NULL, 2, prior, 1e-6, 1, &reml, &error), CW_OK);
    ck_assert_double_eq_tol(reml.parameter[0], 0.7, 1e-9);
    ck_assert_double_eq_tol(reml.parameter[1], 0.5, 1e-9);
    double a = reml.covariance[0][0], b = reml.covariance[0][1], d = reml.covariance[1][1];
    ck_assert(a > 0 && a <= 1 && d > 0 && d <= 0.25);
    ck_assert(a * d - b * b > 0);
    /* Pushed against their bounds by a slope of 20 and more, they are not free to lie anywhere. */
    ck_assert(a < 0.02 && d < 0.02);
    /* Their difference is known well all the same. */
    ck_assert(a + d - 2 * b < 0.05);
}
END_TEST

static const struct cw_reml_prior wide = {0, 1e4, -50, 50, 0};

/* (x - minimum)' a (x - minimum), and how often it was asked outside a region. */
struct quadratic {
    double minimum[3], a[3][3];
    double forbidden_above; /* of the first parameter */
};

static enum cw_status quadratic(const double *x, void *state, double *value, double *by) {
    (void)by;
    const struct quadratic *q = state;
    if (x[0] > q->forbidden_above) return CW_E_NUMERIC;
    *value = 0;
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            *value += (x[i] - q->minimum[i]) * q->a[i][j] * (x[j] - q->minimum[j]);
    return CW_OK;
}

static const struct quadratic round_hole = {
    {0.7, -1.3, 2.1}, {{4, 1.5, -0.5}, {1.5, 3, 0.8}, {-0.5, 0.8, 1.2}}, INFINITY};

/* At a bound the others go to where they are least there. */
START_TEST(minimum_beyond_a_bound) {
    struct quadratic hole = round_hole;
    struct cw_reml_prior prior[3] = {wide, wide, wide};
    reml = (struct cw_reml){.parameter = {-3, 0, 0}};
    prior[0].high = 0.2;
    ck_assert_int_eq(cw_reml_minimise(quadratic, &hole, 3, prior, 1e-6, 0, &reml, &error), CW_OK);
    ck_assert_double_eq(reml.parameter[0], 0.2);
    /* x1, x2 from a's lower block, given x0 - 0.7 = -0.5 */
    double det = 3 * 1.2 - 0.8 * 0.8, r1 = 0.5 * 1.5, r2 = 0.5 * -0.5;
    ck_assert_double_eq_tol(reml.parameter[1], -1.3 + (1.2 * r1 - 0.8 * r2) / det, 0.03);
    ck_assert_double_eq_tol(reml.parameter[2], 2.1 + (3 * r2 - 0.8 * r1) / det, 0.03);
    prior[0] = (struct cw_reml_prior){0, 1e4, 1.5, 50, 0};
    ck_assert_int_eq(cw_reml_minimise(quadratic, &hole, 3, prior, 1e-6, 0, &reml, &error), CW_OK);
    ck_assert_double_eq(reml.parameter[0], 1.5);
}
END_TEST

/* Where the function has no value the search steps back. */
START_TEST(undefined_beyond) {
    struct quadratic hole = round_hole;
    const struct cw_reml_prior prior[3] = {wide, wide, wide};
    reml = (struct cw_reml){.parameter = {-2, 4, 4}};
    hole.forbidden_above = 0.75;
    ck_assert_int_eq(cw_reml_minimise(quadratic, &hole, 3, prior, 1e-6, 1, &reml, &error), CW_OK);
    ck_assert_double_lt(reml.minimum, 0.05);
    ck_assert(isfinite(reml.covariance[0][0]));
    reml.parameter[0] = 2;
    ck_assert_int_eq(cw_reml_minimise(quadratic, &hole, 3, prior, 1e-6, 1, &reml, &error),
                     CW_E_NUMERIC);
    ck_assert_int_eq(
        cw_reml_minimise(quadratic, &hole, CW_REML_MOST + 1, prior, 1e-6, 1, &reml, &error),
        CW_E_ARGUMENT);
}
END_TEST

/* A bent valley (after Rosenbrock 1960, Comput. J. 3:175), state being its steepness: one that
 * gradients from differences over 0.02 can follow. */
static enum cw_status valley(const double *x, void *state, double *value, double *by) {
    (void)by;
    double across = x[1] - x[0] * x[0], along = 1 - x[0];
    *value = *(double *)state * across * across + along * along;
    return CW_OK;
}

START_TEST(bent_valley) {
    const struct cw_reml_prior prior[2] = {wide, wide};
    for (double steepness = 1; steepness < 4; steepness *= 3) {
        reml = (struct cw_reml){.parameter = {-1.2, 1}};
        ck_assert_int_eq(cw_reml_minimise(valley, &steepness, 2, prior, 0.01, 0, &reml, &error),
                         CW_OK);
        ck_assert_msg(reml.minimum < 0.05, "steepness %g: %g after %zu", steepness, reml.minimum,
                      reml.evaluations);
    }
}
END_TEST

static enum cw_status nowhere(const double *x, void *state, double *minus_2_log, double *by) {
    (void)by;
    (void)x;
    (void)state;
    (void)minus_2_log;
    return CW_E_NUMERIC;
}

static enum cw_status about(const double *x, void *state, double *minus_2_log, double *by) {
    (void)by;
    *minus_2_log = 31 * pow(x[0] - *(double *)state, 2);
    return CW_OK;
}

/* What is there or not: told to be small it is taken for nothing, told to be large for what it is.
 */
START_TEST(there_or_not) {
    const struct cw_reml_prior prior = {1, 2, -2, 10, 0.1};
    for (double seen = -0.4; seen < 2; seen += 0.2) {
        double least = INFINITY, best = 0;
        for (double x = -2; x < 4; x += 1e-4) {
            double mixed = 0.5 / 2 * exp(-0.125 * (x - 1) * (x - 1)) + 0.5 / 0.1 * exp(-50 * x * x);
            double cost = 31 * (x - seen) * (x - seen) - 2 * log(mixed);
            if (cost < least) {
                least = cost;
                best = x;
            }
        }
        begin();
        reml.parameter[0] = seen;
        ck_assert_int_eq(cw_reml_minimise(about, &seen, 1, &prior, 1e-9, 1, &reml, &error), CW_OK);
        ck_assert_double_eq_tol(reml.parameter[0], best, 0.05);
        if (seen > 0.1 && seen < 0.3) ck_assert_double_lt(reml.parameter[0], 0.6 * seen);
        if (seen > 1) ck_assert_double_eq_tol(reml.parameter[0], seen, 0.01);
    }
}
END_TEST

START_TEST(a_likelihood_without_a_value_is_an_error) {
    const struct cw_reml_prior prior[2] = {{0, 1, -2, 2, 0}, {0, 1, -2, 2, 0}};
    ck_assert_int_eq(cw_reml_minimise(nowhere, NULL, 2, prior, 1e-6, 1, &reml, &error),
                     CW_E_NUMERIC);
    ck_assert_int_eq(cw_reml_minimise(hill, NULL, CW_REML_MOST + 1, prior, 1e-6, 0, &reml, &error),
                     CW_E_ARGUMENT);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit_reml");
    TCase *tests = tcase_create("reml");
    tcase_add_checked_fixture(tests, begin, NULL);
    tcase_add_test(tests, a_quadratic_is_solved_with_its_priors);
    tcase_add_test(tests, a_parameter_without_a_prior_width_is_held);
    tcase_add_test(tests, at_a_bound_no_more_is_unknown_than_the_priors_say);
    tcase_add_test(tests, minimum_beyond_a_bound);
    tcase_add_test(tests, undefined_beyond);
    tcase_add_test(tests, bent_valley);
    tcase_add_test(tests, there_or_not);
    tcase_add_test(tests, a_likelihood_without_a_value_is_an_error);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
