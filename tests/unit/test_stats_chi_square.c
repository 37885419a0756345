/* Quantiles: tables of the distribution (for instance NIST/SEMATECH e-Handbook of Statistical
 * Methods, 1.3.6.7.4), as remembered, to their three decimals. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "stats/chi_square.h"

START_TEST(quantiles_are_the_tables) {
    static const struct {
        double df, low, high; /* 2.5 and 97.5 % */
    } row[] = {{1, 0.001, 5.024},   {2, 0.051, 7.378},   {3, 0.216, 9.348},   {5, 0.831, 12.833},
               {10, 3.247, 20.483}, {20, 9.591, 34.170}, {30, 16.791, 46.979}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        ck_assert_double_eq_tol(cw_chi_square_quantile(0.025, row[i].df), row[i].low, 5.1e-4);
        ck_assert_double_eq_tol(cw_chi_square_quantile(0.975, row[i].df), row[i].high, 5.1e-4);
        ck_assert_double_eq_tol(cw_chi_square_above(row[i].high, row[i].df), 0.025, 5e-5);
    }
}
END_TEST

/* With two degrees of freedom the chance is exp(-x / 2), with one that of a normal number. */
START_TEST(closed_forms) {
    for (double x = 0; x < 60; x = 1.7 * x + 0.01) {
        ck_assert_double_eq_tol(cw_chi_square_above(x, 2), exp(-x / 2), 1e-14);
        ck_assert_double_eq_tol(cw_chi_square_above(x, 1), erfc(sqrt(x / 2)), 1e-14);
    }
    for (double p = 0.001; p < 1; p += 0.0499)
        ck_assert_double_eq_tol(cw_chi_square_quantile(p, 2), -2 * log1p(-p), 1e-12);
    ck_assert_double_eq(cw_chi_square_quantile(0, 3), 0);
    ck_assert_double_eq(cw_chi_square_above(0, 3), 1);
    ck_assert(isinf(cw_chi_square_quantile(1, 3)));
}
END_TEST

START_TEST(out_of_range) {
    ck_assert(isnan(cw_chi_square_above(-1, 3)) && isnan(cw_chi_square_above(NAN, 3)));
    ck_assert(isnan(cw_chi_square_above(1, 0)) && isnan(cw_chi_square_above(1, 2e6)));
    ck_assert(isnan(cw_chi_square_quantile(1.1, 3)) && isnan(cw_chi_square_quantile(0.5, NAN)));
    ck_assert_double_eq(cw_chi_square_above(1e308, 3), 0);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("stats/chi_square");
    TCase *tests = tcase_create("chi_square");
    tcase_add_test(tests, quantiles_are_the_tables);
    tcase_add_test(tests, closed_forms);
    tcase_add_test(tests, out_of_range);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
