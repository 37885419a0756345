#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "stats/ratio.h"

/* At either end of the interval the numerator less so much of the denominator is as many of its
 * standard errors from 0 as the quantile says (Fieller 1954, the definition). */
static void check_ends(double above, double above_se, double below, double below_se,
                       double correlation, double quantile) {
    struct cw_estimate r = cw_ratio(above, above_se, below, below_se, correlation, quantile);
    const double end[2] = {r.low, r.high};
    ck_assert_double_eq_tol(r.value, above / below, 1e-12);
    for (int k = 0; k < 2; k++) {
        double off = above - end[k] * below,
               se = sqrt(above_se * above_se - 2 * end[k] * correlation * above_se * below_se +
                         end[k] * end[k] * below_se * below_se);
        ck_assert_double_eq_tol(fabs(off) / se, quantile, 1e-9);
    }
    ck_assert_double_lt(r.low, r.value);
    ck_assert_double_gt(r.high, r.value);
}

START_TEST(ends_are_so_many_errors_off) {
    check_ends(0.7, 0.21, 5.2, 0.6, 0, 2.18);
    check_ends(0.7, 0.21, 5.2, 0.6, 0.43, 2.18);
    check_ends(-0.35, 0.3, 5.2, 1.1, -0.8, 3.2);
}
END_TEST

/* A denominator known for sure only scales. */
START_TEST(sure_denominator) {
    struct cw_estimate r = cw_ratio(0.6, 0.15, 4, 0, 0, 2);
    ck_assert_double_eq_tol(r.value, 0.15, 1e-12);
    ck_assert_double_eq_tol(r.standard_error, 0.0375, 1e-12);
    ck_assert_double_eq_tol(r.low, 0.075, 1e-12);
    ck_assert_double_eq_tol(r.high, 0.225, 1e-12);
}
END_TEST

START_TEST(denominator_that_may_be_nothing) {
    struct cw_estimate r = cw_ratio(0.6, 0.15, 4, 2.1, 0, 2);
    ck_assert(isnan(r.value) && isnan(r.standard_error) && isnan(r.low) && isnan(r.high));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("stats/ratio");
    TCase *tests = tcase_create("ratio");
    tcase_add_test(tests, ends_are_so_many_errors_off);
    tcase_add_test(tests, sure_denominator);
    tcase_add_test(tests, denominator_that_may_be_nothing);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
