#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "physics/stopping.h"

/* ISO 4210-2, braking of a city bicycle in the dry: 7 m from 25 km/h (from memory); and a second
 * at 25 km/h is 6.944 m. */
START_TEST(on_the_flat) {
    ck_assert_double_eq_tol(cw_stopping_distance(25 / 3.6, 0), 6.9444 + 7, 1e-3);
    ck_assert_double_eq_tol(cw_stopping_distance(50 / 3.6, 0), 13.8889 + 28, 1e-3);
    ck_assert_double_eq_tol(cw_stopping_distance(0, 0), 0, 1e-12);
}
END_TEST

/* By hand: a slope of -10 % takes 9.81 sin(atan 0.1) = 0.9762 m/s2 off 3.4447 m/s2. */
START_TEST(downhill_takes_longer) {
    ck_assert_double_eq_tol(cw_stopping_distance(15, -0.1), 15 + 225 / (2 * 2.4685), 1e-2);
    ck_assert(cw_stopping_distance(15, 0.05) < cw_stopping_distance(15, 0));
    ck_assert(isinf(cw_stopping_distance(15, -0.4)));
    ck_assert(isnan(cw_stopping_distance(NAN, -0.1)) && isnan(cw_stopping_distance(10, NAN)));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("physics_stopping");
    TCase *tests = tcase_create("stopping");
    tcase_add_test(tests, on_the_flat);
    tcase_add_test(tests, downhill_takes_longer);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
