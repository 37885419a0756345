#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "physics/steady.h"

/* Martin et al. 1998, J. Appl. Biomech. 14:276, the appendix's worked example: 471.8 m in 56.42 s
 * up 0.3 % against a wind of 2.94 m/s from 30 degrees beside the road, CdA 0.2565 + 0.0044 m2. Its
 * parts without the kinetic one, recomputed in full: 158.803229, 23.625684, 1.369339 and 22.149079
 * W; printed 158.8, 23.6, 1.4 and 22.1 W. */
static const double martin_ms = 471.8 / 56.42,
                    martin_w = 158.803229 + 23.625684 + 1.369339 + 22.149079;
static const struct cw_bicycle martin = {.mass_kg = 90,
                                         .cda_m2 = 0.2565 + 0.0044,
                                         .crr = 0.0032,
                                         .wheel_inertia_kgm2 = 0.14,
                                         .wheel_radius_m = 0.311};
static struct cw_surroundings martin_air(void) {
    return (struct cw_surroundings){
        .density_kgm3 = 1.2234, .gravity_ms2 = 9.81, .wind_along_ms = 2.94 * cos(atan(1) * 4 / 6)};
}

START_TEST(power_of_a_published_example) {
    struct cw_surroundings air = martin_air();
    double power_w = cw_steady_power_w(&martin, &air, martin_ms, sin(atan(0.003)));
    ck_assert_double_eq_tol(power_w, martin_w, 2e-4); /* its grade's sine stands for its tangent */
    ck_assert_double_eq_tol(power_w, 158.8 + 23.6 + 1.4 + 22.1, 0.25);
}
END_TEST

START_TEST(speed_of_a_published_example) {
    struct cw_surroundings air = martin_air();
    ck_assert_double_eq_tol(cw_steady_speed_ms(&martin, &air, martin_w, sin(atan(0.003))),
                            martin_ms, 1e-5);
}
END_TEST

/* Closed form: v_t2 = -2 m g (sine + Crr cosine) / (rho CdA). */
START_TEST(terminal_speed) {
    static const struct {
        double mass_kg, grade_percent, speed_ms;
    } rows[] = {{83, -3, 10.29250535556}, {83, -5, 13.80333191601}, {83, -10, 20.01843991368}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cw_bicycle who = {.mass_kg = rows[i].mass_kg,
                                 .cda_m2 = 0.32,
                                 .crr = 0.005,
                                 .frictionless_bearings = true};
        struct cw_surroundings still = {.density_kgm3 = 1.2, .gravity_ms2 = 9.80665};
        double sine = sin(atan(rows[i].grade_percent / 100));
        ck_assert_double_eq_tol(cw_steady_speed_ms(&who, &still, 0, sine) / rows[i].speed_ms, 1,
                                1e-10);
        still.wind_along_ms = 1.5; /* the air's speed is what counts */
        ck_assert_double_eq_tol(cw_steady_speed_ms(&who, &still, 0, sine), rows[i].speed_ms - 1.5,
                                1e-8);
    }
}
END_TEST

START_TEST(no_such_speed) {
    struct cw_bicycle who = {.mass_kg = 83, .cda_m2 = 0.32, .crr = 0.005};
    struct cw_surroundings air = {.density_kgm3 = 1.2, .gravity_ms2 = 9.80665};
    ck_assert(isnan(cw_steady_speed_ms(&who, &air, 0, 0)));
    ck_assert(isnan(cw_steady_speed_ms(&who, &air, 0, -0.004)));
    air.wind_along_ms = 15; /* stops who is not pushed */
    ck_assert(isnan(cw_steady_speed_ms(&who, &air, 0, sin(atan(-0.03)))));
    who.cda_m2 = 0;
    who.frictionless_bearings = true;
    ck_assert(isinf(cw_steady_speed_ms(&who, &air, 0, sin(atan(-0.03)))));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("physics_steady");
    TCase *steady = tcase_create("steady");
    tcase_add_test(steady, power_of_a_published_example);
    tcase_add_test(steady, speed_of_a_published_example);
    tcase_add_test(steady, terminal_speed);
    tcase_add_test(steady, no_such_speed);
    suite_add_tcase(suite, steady);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
