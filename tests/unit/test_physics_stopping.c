#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "physics/stopping.h"

/* A second at the speed, then down to a stand, stepped through: braking and standard gravity (3rd
 * CGPM, 1901) act along the road. */
static double ride_to_a_stand(double speed_ms, double braking_ms2, double slope) {
    const double step_s = 1e-4, down_ms2 = -9.80665 * sin(atan(slope));
    double distance_m = 0, v = speed_ms;
    for (int i = 0; i < 10000; i++) distance_m += v * step_s;
    while (v > 0) {
        double next = fmax(0, v + (down_ms2 - braking_ms2) * step_s);
        distance_m += 0.5 * (v + next) * step_s;
        v = next;
    }
    return distance_m;
}

/* The braking that stopping.h promises, 7 m from 25 km/h, as a deceleration that a rider can tell
 * of: a stand within 2.016 s, by the mean speed of 12.5 km/h. */
static const double braking_ms2 = 25 / 3.6 / (7 / (12.5 / 3.6));

START_TEST(on_the_flat) {
    ck_assert_double_eq_tol(cw_stopping_distance(25 / 3.6, 0) - 25 / 3.6, 7, 1e-9);
    for (double v = 2; v < 25; v += 2.5)
        ck_assert_double_eq_tol(cw_stopping_distance(v, 0), ride_to_a_stand(v, braking_ms2, 0),
                                1e-6);
    ck_assert_double_eq_tol(cw_stopping_distance(0, 0), 0, 1e-12);
}
END_TEST

START_TEST(downhill_takes_longer) {
    for (double slope = -0.3; slope < 0.1; slope += 0.05)
        ck_assert_double_eq_tol(cw_stopping_distance(15, slope),
                                ride_to_a_stand(15, braking_ms2, slope), 1e-6);
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
