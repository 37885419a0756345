/* By how much later a setup was ridden, where that is confounded with what it does. */
#include <check.h>
#include <math.h>
#include <string.h>

#include "compare/order.h"

/* Runs a quarter of an hour apart, of setups as the letters say; a blank begins another outing. */
static double later(const char *order) {
    struct cw_run_among runs[32] = {0};
    size_t n = 0, outing = 0;
    for (const char *at = order; *at; at++) {
        if (*at == ' ') {
            outing++;
            continue;
        }
        runs[n] = (struct cw_run_among){
            .outing = outing, .setup = (size_t)(*at - 'A'), .time_s = 1.7e9 + 900 * (double)n};
        n++;
    }
    return cw_order_hours_later(runs, n, 1, 0);
}

START_TEST(taking_turns_is_fine) {
    static const char *const fine[] = {"ABBA", "ABAB", "ABABABAB",  "ABBAABBA", "AABBBBAA",
                                       "BAAB", "AAAA", "AAAA BBBB", "AB BA",    "ABCCBA"};
    for (size_t i = 0; i < sizeof fine / sizeof *fine; i++)
        ck_assert_msg(isnan(later(fine[i])), "%s: %g", fine[i], later(fine[i]));
}
END_TEST

START_TEST(one_after_the_other_is_said) {
    ck_assert_double_eq_tol(later("AB"), 0.25, 1e-9);
    ck_assert_double_eq_tol(later("AABB"), 0.5, 1e-9);
    ck_assert_double_eq_tol(later("AAAABBBB"), 1, 1e-9);
    ck_assert_double_eq_tol(later("BBBBAAAA"), -1, 1e-9);
    ck_assert_double_eq_tol(later("AACCBB"), 1, 1e-9);
    ck_assert_double_eq_tol(later("AABB AAAABBBB"), 0.75, 1e-9);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("compare/order");
    TCase *tests = tcase_create("order");
    tcase_add_test(tests, taking_turns_is_fine);
    tcase_add_test(tests, one_after_the_other_is_said);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? 1 : 0;
}
