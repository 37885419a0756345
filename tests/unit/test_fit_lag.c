/* The filter against closed forms. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "fit/lag.h"

/* A height that stands, jumps by a metre, and rises by 2 m/s: shown' = (felt - shown)/time gives
 * 1 - exp(-t/time), and 2 (t - time (1 - exp(-t/time))). The steps are as they come. */
START_TEST(jump_and_rise) {
    static const double times_s[] = {0.3, 2.5, 40}, steps_s[] = {1, 0.1, 3.7, 1, 20};
    for (size_t k = 0; k < 3; k++) {
        double t = 0, jumped = 0, risen = 0;
        for (size_t i = 0; i < 5; i++) {
            struct cw_lag_step step = cw_lag_step_make(steps_s[i], times_s[k]);
            ck_assert_double_eq_tol(step.keep + step.here + step.there, 1, 1e-15);
            jumped = step.keep * jumped + step.here + step.there;
            risen = step.keep * risen + 2 * (step.here * t + step.there * (t + steps_s[i]));
            t += steps_s[i];
            double came = 1 - exp(-t / times_s[k]);
            ck_assert_double_eq_tol(jumped, came, 1e-14);
            ck_assert_double_eq_tol(risen, 2 * (t - times_s[k] * came), 1e-12);
        }
    }
}
END_TEST

/* A height that falls off as exp(-t/10 s), straight in between tenths of a second, shown 3 s late:
 * (exp(-t/10) - exp(-t/3)) / (1 - 3/10). */
START_TEST(exponential) {
    double shown = 0, felt = 1;
    for (int i = 1; i <= 300; i++) {
        struct cw_lag_step step = cw_lag_step_make(0.1, 3);
        double t = 0.1 * i, next = exp(-t / 10);
        shown = step.keep * shown + step.here * felt + step.there * next;
        felt = next;
        ck_assert_double_eq_tol(shown, (exp(-t / 10) - exp(-t / 3)) / 0.7, 1e-5);
    }
}
END_TEST

/* Without a filter, and with one too short to matter, what is shown is what is felt. */
START_TEST(none) {
    static const double times_s[] = {0, -2, 1e-300, 1e-9};
    for (size_t k = 0; k < 4; k++) {
        struct cw_lag_step step = cw_lag_step_make(1, times_s[k]);
        ck_assert_double_eq_tol(step.keep, 0, 1e-8);
        ck_assert_double_eq_tol(step.here, 0, 1e-8);
        ck_assert_double_eq_tol(step.there, 1, 1e-8);
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/lag");
    TCase *tests = tcase_create("lag");
    tcase_add_test(tests, jump_and_rise);
    tcase_add_test(tests, exponential);
    tcase_add_test(tests, none);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
