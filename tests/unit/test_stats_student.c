/* Quantiles: computed beforehand with another statistical library. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "stats/student.h"

START_TEST(quantiles) {
    static const struct {
        double df, t;
    } row[] = {{2, 4.3026527299}, {3, 3.1824463053},  {4, 2.7764451052},  {5, 2.5705818366},
               {6, 2.4469118488}, {7, 2.364624251},   {8, 2.306004135},   {9, 2.2621571627},
               {10, 2.228138852}, {11, 2.2009851601}, {12, 2.1788128297}, {13, 2.1603686565},
               {14, 2.1447866879}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        ck_assert_double_eq_tol(cw_t_quantile(0.975, row[i].df), row[i].t, 1e-9 * row[i].t);
        ck_assert_double_eq_tol(cw_t_quantile(0.025, row[i].df), -row[i].t, 1e-9 * row[i].t);
        ck_assert_double_eq_tol(cw_t_p_value(row[i].t, row[i].df), 0.05, 1e-9);
    }
}
END_TEST

/* df need not be whole: between the whole ones, and falling all the way. */
START_TEST(between_whole_df) {
    double before = INFINITY;
    for (double df = 1; df < 2e6; df *= 1.37) {
        double t = cw_t_quantile(0.975, df);
        ck_assert_double_lt(t, before);
        ck_assert_double_eq_tol(cw_t_p_value(t, df), 0.05, 1e-9);
        before = t;
    }
    ck_assert_double_eq_tol(before, cw_t_quantile(0.975, INFINITY), 1e-5);
}
END_TEST

START_TEST(limits) {
    /* One degree of freedom is the Cauchy distribution: tan(0.475 pi). */
    ck_assert_double_eq_tol(cw_t_quantile(0.975, 1), 12.7062047, 1e-7);
    /* 1.959964: the normal distribution's, common practice. */
    ck_assert_double_eq_tol(cw_t_quantile(0.975, INFINITY), 1.959964, 5e-7);
    ck_assert_double_eq_tol(cw_t_p_value(-1.959964, INFINITY), 0.05, 1e-7);
    /* Less than one degree of freedom says nothing of an interval. */
    ck_assert(isnan(cw_t_quantile(0.6, 0.65)));
    ck_assert_double_eq(cw_t_quantile(0.5, 4), 0);
    ck_assert(isinf(cw_t_quantile(1, 4)) && cw_t_quantile(1, 4) > 0);
    ck_assert(isinf(cw_t_quantile(0, 4)) && cw_t_quantile(0, 4) < 0);
    ck_assert_double_eq_tol(cw_t_quantile(0.975, 1e50), 1.959964, 5e-7);
    ck_assert_double_eq(cw_t_p_value(1e200, 3), 0);
    ck_assert(isnan(cw_t_quantile(0.975, 0)));
    ck_assert(isnan(cw_t_quantile(0.975, NAN)));
    ck_assert(isnan(cw_t_quantile(1.5, 4)));
    ck_assert(isnan(cw_t_p_value(1, 0)));
    ck_assert(isnan(cw_t_p_value(NAN, 3)));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/student");
    TCase *tests = tcase_create("student");
    tcase_add_test(tests, quantiles);
    tcase_add_test(tests, between_whole_df);
    tcase_add_test(tests, limits);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
