#include <check.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <stdlib.h>

#include "stats/tests.h"

/* Student's sleep data (Student 1908; the `sleep` data set of R). */
static const double sleep_1[] = {0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0};
static const double sleep_2[] = {1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4};

#define ck_relative(got, wanted, tolerance)                                                        \
    ck_assert_double_eq_tol(got, wanted, (tolerance)*fabs(wanted))

/* R 4.2.2 t.test, computed; its help page prints t = -1.8608, df = 17.776, p = 0.07939. */
START_TEST(sleep_welch) {
    struct cw_t_test test;
    ck_assert_int_eq(cw_t_test_welch(10, sleep_1, 10, sleep_2, &test, NULL), CW_OK);
    ck_relative(test.t, -1.86081346749, 1e-9);
    ck_relative(test.df, 17.7764735162, 1e-9);
    ck_relative(test.p_value, 0.0793941401874, 1e-9);
    ck_assert_double_eq_tol(test.difference.low, -3.365483230712, 1e-9);
    ck_assert_double_eq_tol(test.difference.high, 0.205483230712, 1e-9);
}
END_TEST

/* R 4.2.2 t.test, computed. */
START_TEST(sleep_pooled) {
    struct cw_t_test test;
    ck_assert_int_eq(cw_t_test_pooled(10, sleep_1, 10, sleep_2, &test, NULL), CW_OK);
    ck_relative(test.t, -1.86081346749, 1e-9);
    ck_assert_double_eq(test.df, 18);
    ck_relative(test.p_value, 0.0791867142159, 1e-9);
}
END_TEST

/* R 4.2.2 t.test, computed; t = -4.0621, df = 9, p = 0.002833 as printed. */
START_TEST(sleep_paired) {
    struct cw_t_test test;
    ck_assert_int_eq(cw_t_test_paired(10, sleep_1, sleep_2, &test, NULL), CW_OK);
    ck_relative(test.t, -4.06212768338, 1e-9);
    ck_assert_double_eq(test.df, 9);
    ck_relative(test.p_value, 0.00283289019738, 1e-9);
    ck_assert_double_eq_tol(test.difference.low, -2.459885763277, 1e-9);
    ck_assert_double_eq_tol(test.difference.high, -0.700114236723, 1e-9);
}
END_TEST

/* Constructed drag areas, m2; R 4.2.2 t.test, computed. */
START_TEST(drag_areas) {
    static const double x[] = {0.318, 0.324, 0.311, 0.329, 0.32, 0.316};
    static const double y[] = {0.305, 0.309, 0.302, 0.307};
    static const double z[] = {0.312, 0.315, 0.307, 0.318, 0.316, 0.309};
    struct cw_t_test test;
    ck_assert_int_eq(cw_t_test_welch(6, x, 4, y, &test, NULL), CW_OK);
    ck_assert_double_eq_tol(test.t, 4.68945741867484, 1e-9);
    ck_assert_double_eq_tol(test.df, 7.52314002383933, 1e-9);
    ck_assert_double_eq_tol(test.p_value, 0.00184353056620, 1e-9);
    ck_assert_double_eq_tol(test.difference.low, 0.00699700953735, 1e-9);
    ck_assert_double_eq_tol(test.difference.high, 0.02083632379598, 1e-9);
    ck_assert_double_eq_tol(test.difference.standard_error, 0.00296764964988, 1e-9);

    ck_assert_int_eq(cw_t_test_paired(6, x, z, &test, NULL), CW_OK);
    ck_assert_double_eq_tol(test.t, 6.00607703691774, 1e-9);
    ck_assert_double_eq_tol(test.df, 5, 1e-9);
    ck_assert_double_eq_tol(test.p_value, 0.00183779271396, 1e-9);
    ck_assert_double_eq_tol(test.difference.low, 0.00390868843858, 1e-9);
    ck_assert_double_eq_tol(test.difference.high, 0.00975797822809, 1e-9);
    ck_assert_double_eq_tol(test.difference.standard_error, 0.00113773654439, 1e-9);
}
END_TEST

START_TEST(too_little_to_judge_by) {
    const double same[] = {0.3, 0.3, 0.3}, other[] = {0.4, 0.4}, spread[] = {0.3, 0.31, 0.33};
    struct cw_t_test test;
    struct cw_error error;
    ck_assert_int_eq(cw_t_test_welch(3, same, 2, other, &test, &error), CW_E_DATA);
    ck_assert(isnan(test.p_value) && isnan(test.difference.high));
    ck_assert_int_eq(cw_t_test_welch(1, spread, 3, spread, &test, &error), CW_E_DATA);
    ck_assert_int_eq(cw_t_test_pooled(1, spread, 1, same, &test, &error), CW_E_DATA);
    ck_assert_int_eq(cw_t_test_paired(1, spread, same, &test, &error), CW_E_DATA);
    /* A constant difference, apart from rounding. */
    const double base[] = {0.1, 0.7, 0.3}, shifted[] = {0.1 + 0.2, 0.7 + 0.2, 0.3 + 0.2};
    ck_assert_double_ne(shifted[0] - base[0], shifted[1] - base[1]);
    ck_assert_int_eq(cw_t_test_paired(3, base, shifted, &test, &error), CW_E_DATA);
    const double broken[] = {0.3, NAN, 0.33};
    ck_assert_int_eq(cw_t_test_pooled(3, spread, 3, broken, &test, &error), CW_E_ARGUMENT);
    ck_assert_str_eq(error.message, "value 2 is not a number");
    /* One group without scatter: all the doubt, and its df, are the other's. */
    ck_assert_int_eq(cw_t_test_welch(3, spread, 3, same, &test, &error), CW_OK);
    ck_assert_double_eq_tol(test.df, 2, 1e-12);
    ck_assert_int_eq(cw_t_test_pooled(1, same, 2, spread, &test, &error), CW_OK);
    ck_assert_double_eq(test.df, 1);
}
END_TEST

/* A mean a hundred million times the scatter: 1e8 + {1, 2, 3} against 1e8 + {2, 4, 6}; by hand
 * variances 1 and 4, difference -2, standard error sqrt(5/3). */
START_TEST(scatter_far_below_the_mean) {
    const double x[] = {1e8 + 1, 1e8 + 2, 1e8 + 3}, y[] = {1e8 + 2, 1e8 + 4, 1e8 + 6};
    struct cw_t_test test;
    ck_assert_int_eq(cw_t_test_welch(3, x, 3, y, &test, NULL), CW_OK);
    ck_assert_double_eq_tol(test.difference.standard_error, sqrt(5. / 3), 1e-7);
    ck_assert_double_eq_tol(test.df, 50. / 17, 1e-6);
}
END_TEST

/* JCGM 100:2008 (GUM) H.1, end gauge: parts in nm. Inputs read in the documentation of the GTC
 * library, which prints the same parts and u_c 32 nm; values computed. The GUM's u_c 32 nm, df 16.7
 * cut to 16 and U99 93 nm read in two independent public test files that quote H.1.6. */
START_TEST(gum_h1) {
    const double u[] = {25, 9.7, 2.9, 16.6};
    const double df[] = {18, 25.6, 50, 2};
    double uc = 31.6711224935;
    double effective = cw_satterthwaite_df(4, u, df);
    /* The trap: with u_c rounded to 32 before the formula comes 17.47, 0.7 too many. */
    double rounded_first = 17.4718178309;
    ck_assert_double_eq_tol(effective * pow(32 / uc, 4), rounded_first, 1e-8);
    ck_assert_double_lt(effective, rounded_first - 0.7);
    ck_assert_double_eq_tol(effective, 16.7, 0.1); /* the GUM's parts are rounded as well */
    ck_assert_double_eq(floor(effective), 16);
    ck_assert_double_eq_tol(uc, 32, 0.5);
    ck_assert_double_eq_tol(cw_t_quantile(0.995, floor(effective)) * 32, 93.4650119176, 1e-8);

    /* The parts of the 9.7 nm and its 25.6 degrees of freedom, rounded first there too (H.1.3.2;
     * parts read as above, 9.7 and 25.6 in one of the two test files). */
    const double parts[] = {5.8, 3.9, 6.7}, parts_df[] = {24, 5, 8};
    double root = sqrt(5.8 * 5.8 + 3.9 * 3.9 + 6.7 * 6.7);
    ck_assert_double_eq_tol(cw_satterthwaite_df(3, parts, parts_df) * pow(9.7 / root, 4), 25.6,
                            0.05);
}
END_TEST

/* What effective degrees of freedom are (Satterthwaite 1946, Biometrics Bull. 2:110): the sum of
 * the parts' estimated variances scatters as one variance with that many does, relative variance
 * 2/df. Drawn 400,000 times, each part's estimate a sum of df squared normal values. It comes
 * out as 0.1052 with a standard error of 0.0003, which is found from the draws themselves; five of
 * those are allowed. */
START_TEST(effective_df_are_the_scatter_of_the_sum) {
    enum { DRAWS = 400000 };
    const double u[] = {0.25, 0.57, 0.82}, df[] = {9, 4, 14};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937); /* its default start: the same every time */
    double sum = 0, squares = 0, fourths = 0, mean = 0;
    for (size_t k = 0; k < 3; k++) mean += u[k] * u[k];
    for (int draw = 0; draw < DRAWS; draw++) {
        double estimate = 0;
        for (size_t k = 0; k < 3; k++)
            estimate += u[k] * u[k] * gsl_ran_chisq(random, df[k]) / df[k];
        double off = estimate / mean - 1;
        sum += off;
        squares += off * off;
        fourths += off * off * off * off;
    }
    gsl_rng_free(random);
    double variance = squares / DRAWS;
    double error = sqrt((fourths / DRAWS - variance * variance) / DRAWS);
    ck_assert_double_lt(error, 0.0003);
    ck_assert_double_lt(fabs(sum / DRAWS), 5 * sqrt(variance / DRAWS));
    ck_assert_double_eq_tol(2 / cw_satterthwaite_df(3, u, df), variance, 5 * error);
}
END_TEST

START_TEST(effective_df_limits) {
    const double u[] = {1e-90, 0}, df[] = {7, 3}, sure[] = {INFINITY, 3};
    ck_assert_double_eq_tol(cw_satterthwaite_df(2, u, df), 7, 1e-12);
    ck_assert(isinf(cw_satterthwaite_df(2, u, sure)));
    const double none[] = {0, 0}, wrong[] = {-1, 1};
    ck_assert(isnan(cw_satterthwaite_df(2, none, df)));
    ck_assert(isnan(cw_satterthwaite_df(2, wrong, df)));
}
END_TEST

/* From the definition by hand: 4 x .005, 3 x .01, 2 x .03, then .04 raised to the one before. */
START_TEST(holm) {
    const double p[] = {0.01, 0.04, 0.03, 0.005};
    double adjusted[5];
    cw_holm_adjust(4, p, adjusted);
    ck_assert_double_eq_tol(adjusted[0], 0.03, 1e-15);
    ck_assert_double_eq_tol(adjusted[1], 0.06, 1e-15);
    ck_assert_double_eq_tol(adjusted[2], 0.06, 1e-15);
    ck_assert_double_eq_tol(adjusted[3], 0.02, 1e-15);
    const double gaps[] = {0.02, NAN, 0.02, 0.9, 0.6};
    cw_holm_adjust(5, gaps, adjusted);
    ck_assert_double_eq_tol(adjusted[0], 0.08, 1e-15);
    ck_assert(isnan(adjusted[1]));
    ck_assert_double_eq_tol(adjusted[2], 0.08, 1e-15);
    ck_assert_double_eq(adjusted[3], 1);
    ck_assert_double_eq(adjusted[4], 1);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("compare_tests");
    TCase *t = tcase_create("t");
    tcase_add_test(t, sleep_welch);
    tcase_add_test(t, sleep_pooled);
    tcase_add_test(t, sleep_paired);
    tcase_add_test(t, drag_areas);
    tcase_add_test(t, too_little_to_judge_by);
    tcase_add_test(t, scatter_far_below_the_mean);
    TCase *df = tcase_create("degrees of freedom");
    tcase_add_test(df, gum_h1);
    tcase_add_test(df, effective_df_are_the_scatter_of_the_sum);
    tcase_add_test(df, effective_df_limits);
    TCase *several = tcase_create("several tests");
    tcase_add_test(several, holm);
    suite_add_tcase(suite, t);
    suite_add_tcase(suite, df);
    suite_add_tcase(suite, several);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
