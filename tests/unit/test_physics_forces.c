#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "physics/forces.h"

/* The worked example of Martin et al. 1998, appendix, as it is quoted with its printed parts in
 * independent public test files; the full-precision values are recomputed. 471.8 m in 56.42 s, a
 * wind of 2.94 m/s 30 degrees off the heading, CdA 0.2565 with 0.0044 for the spokes. */
static const double speed_ms = 471.8 / 56.42;
static const double slope = 0.003;
static const struct cw_bicycle bicycle = {.mass_kg = 90,
                                          .cda_m2 = 0.2565 + 0.0044,
                                          .crr = 0.0032,
                                          .wheel_inertia_kgm2 = 0.14,
                                          .wheel_radius_m = 0.311};
static const struct cw_surroundings surroundings = {
    .density_kgm3 = 1.2234, .gravity_ms2 = 9.81, .wind_along_ms = 2.546114687};

static double power_drag(void) {
    double wind_ms = 2.94 * cos(30 * 3.14159265358979323846 / 180);
    return speed_ms * cw_force_drag(speed_ms, wind_ms, 1.2234, bicycle.cda_m2);
}

static double power_kinetic(void) {
    return 0.5 * 90 * cw_inertia_factor(&bicycle) * (8.45 * 8.45 - 8.28 * 8.28) / 56.42;
}

START_TEST(forces_are_the_worked_example) {
    double angle = atan(slope);
    double rolling = speed_ms * cw_force_rolling(0.0032, 90, 9.81, angle);
    double bearing = speed_ms * cw_force_bearing(speed_ms);
    double potential = speed_ms * 90 * 9.81 * sin(angle);
    ck_assert_double_eq_tol(power_drag(), 158.8, 0.1);
    ck_assert_double_eq_tol(rolling, 23.6, 0.05);
    ck_assert_double_eq_tol(bearing, 1.4, 0.05);
    ck_assert_double_eq_tol(potential, 22.1, 0.05);
    ck_assert_double_eq_tol(power_kinetic(), 2.3, 0.05);
    double net = power_drag() + rolling + bearing + potential + power_kinetic();
    ck_assert_double_eq_tol(net, 208.25223920300957, 1e-6);
    ck_assert_double_eq_tol(net / 0.976, 213.3, 0.1);
}
END_TEST

START_TEST(inertia_is_the_worked_example) {
    ck_assert_double_eq_tol(90 * cw_inertia_factor(&bicycle), 91.44746228843788, 1e-9);
    struct cw_bicycle none = {.mass_kg = 90};
    ck_assert_double_eq(cw_inertia_factor(&none), 1);
}
END_TEST

/* Martin et al. 1998: power V (91 + 8.7 V) / 1000, read in independent public files that quote it;
 * the worked example's 1.4 W (above) confirms it. */
START_TEST(bearings_are_martins) {
    ck_assert_double_eq_tol(cw_force_bearing(5), 0.1345, 1e-12);
    ck_assert_double_eq_tol(cw_force_bearing(10), 0.178, 1e-12);
    ck_assert_double_eq_tol(cw_force_bearing(15), 0.2215, 1e-12);
    ck_assert_double_eq_tol(cw_force_bearing(20), 0.265, 1e-12);
}
END_TEST

START_TEST(drag_turns_with_the_wind) {
    ck_assert_double_eq_tol(cw_force_drag(7, 2, 1.2, 0.3), 0.5 * 1.2 * 0.3 * 81, 1e-12);
    ck_assert_double_eq_tol(cw_force_drag(3, -5, 1.2, 0.3), -0.5 * 1.2 * 0.3 * 4, 1e-12);
}
END_TEST

/* The power that the example needs, taken away, is the deceleration of its coast. */
START_TEST(acceleration_is_the_sum_of_the_forces) {
    double angle = atan(slope);
    double expected = -(power_drag() / speed_ms + cw_force_rolling(0.0032, 90, 9.81, angle) +
                        cw_force_bearing(speed_ms) + 90 * 9.81 * sin(angle)) /
                      91.44746228843788;
    ck_assert_double_eq_tol(cw_coast_acceleration(&bicycle, &surroundings, speed_ms, angle),
                            expected, 1e-9);
    struct cw_bicycle smooth = bicycle;
    smooth.frictionless_bearings = true;
    ck_assert_double_eq_tol(cw_coast_acceleration(&smooth, &surroundings, speed_ms, angle) -
                                cw_coast_acceleration(&bicycle, &surroundings, speed_ms, angle),
                            cw_force_bearing(speed_ms) / 91.44746228843788, 1e-12);
}
END_TEST

/* Closed-form rows, computed: coasts at -3 % and -5 % of 83 kg, g 9.80665, rho 1.2, CdA 0.32,
 * Crr 0.005: a at standstill, with and without 1.447468 kg of turning wheels; 1e-10 relative. */
START_TEST(acceleration_at_standstill_is_closed_form) {
    struct cw_bicycle plain = {
        .mass_kg = 83, .cda_m2 = 0.32, .crr = 0.005, .frictionless_bearings = true};
    struct cw_surroundings still = {.density_kgm3 = 1.2, .gravity_ms2 = 9.80665};
    ck_assert_double_eq_tol(cw_coast_acceleration(&plain, &still, 0, atan(-0.03)) / 0.2450559996009,
                            1, 1e-10);
    ck_assert_double_eq_tol(cw_coast_acceleration(&plain, &still, 0, atan(-0.05)) / 0.4407486580825,
                            1, 1e-10);
    plain.wheel_inertia_kgm2 = 1.447468;
    plain.wheel_radius_m = 1;
    ck_assert_double_eq_tol(cw_coast_acceleration(&plain, &still, 0, atan(-0.03)) / 0.2408556283402,
                            1, 1e-10);
    /* Terminal speed at -3 %. */
    ck_assert_double_eq_tol(cw_coast_acceleration(&plain, &still, 10.29250535556, atan(-0.03)), 0,
                            1e-11);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("physics_forces");
    TCase *cases = tcase_create("physics_forces");
    tcase_add_test(cases, forces_are_the_worked_example);
    tcase_add_test(cases, inertia_is_the_worked_example);
    tcase_add_test(cases, bearings_are_martins);
    tcase_add_test(cases, drag_turns_with_the_wind);
    tcase_add_test(cases, acceleration_is_the_sum_of_the_forces);
    tcase_add_test(cases, acceleration_at_standstill_is_closed_form);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
