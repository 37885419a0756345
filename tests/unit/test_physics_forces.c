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

static const double weight_n = 90 * 9.81;

static struct cw_loss example(void) {
    return cw_coast_loss(&bicycle, &surroundings, speed_ms, cos(atan(slope)));
}

static double power_kinetic(void) {
    return 0.5 * 90 * cw_inertia_factor(&bicycle) * (8.45 * 8.45 - 8.28 * 8.28) / 56.42;
}

START_TEST(forces_are_the_worked_example) {
    struct cw_loss loss = example();
    double drag = speed_ms * weight_n * bicycle.cda_m2 * loss.drag;
    double rolling = speed_ms * weight_n * bicycle.crr * loss.rolling;
    double bearing = speed_ms * weight_n * loss.bearing;
    double potential = speed_ms * weight_n * sin(atan(slope));
    ck_assert_double_eq_tol(drag, 158.8, 0.1);
    ck_assert_double_eq_tol(rolling, 23.6, 0.05);
    ck_assert_double_eq_tol(bearing, 1.4, 0.05);
    ck_assert_double_eq_tol(potential, 22.1, 0.05);
    ck_assert_double_eq_tol(power_kinetic(), 2.3, 0.05);
    double net = drag + rolling + bearing + potential + power_kinetic();
    ck_assert_double_eq_tol(net, 208.25223920300957, 1e-6);
    ck_assert_double_eq_tol(net / 0.976, 213.3, 0.1);
    double sum = cw_loss_sum(&loss, bicycle.cda_m2, bicycle.crr);
    ck_assert_double_eq_tol(speed_ms * weight_n * sum, drag + rolling + bearing, 1e-9);
}
END_TEST

START_TEST(inertia_is_the_worked_example) {
    ck_assert_double_eq_tol(90 * cw_inertia_factor(&bicycle), 91.44746228843788, 1e-9);
    struct cw_bicycle none = {.mass_kg = 90};
    ck_assert_double_eq(cw_inertia_factor(&none), 1);
    /* 91.447 kg at 8.45 m/s, lifted: 1/2 m k v2 = m g h. */
    ck_assert_double_eq_tol(cw_kinetic_head(&bicycle, 9.81, 8.45),
                            0.5 * 91.44746228843788 * 8.45 * 8.45 / weight_n, 1e-12);
}
END_TEST

/* Martin et al. 1998: power V (91 + 8.7 V) / 1000, read in independent public files that quote it;
 * the worked example's 1.4 W (above) confirms it. */
START_TEST(bearings_are_martins) {
    static const double rows[][2] = {{5, 0.1345}, {10, 0.178}, {15, 0.2215}, {20, 0.265}};
    for (size_t i = 0; i < 4; i++) {
        struct cw_loss loss = cw_coast_loss(&bicycle, &surroundings, rows[i][0], 1);
        ck_assert_double_eq_tol(weight_n * loss.bearing, rows[i][1], 1e-12);
    }
}
END_TEST

/* 1/2 rho CdA times the square of the air's speed, against where the air goes. */
START_TEST(drag_turns_with_the_wind) {
    struct cw_surroundings air = {.density_kgm3 = 1.2, .gravity_ms2 = 9.81, .wind_along_ms = 2};
    struct cw_loss loss = cw_coast_loss(&bicycle, &air, 7, 1);
    ck_assert_double_eq_tol(weight_n * 0.3 * loss.drag, 0.5 * 1.2 * 0.3 * 81, 1e-12);
    air.wind_along_ms = -5;
    loss = cw_coast_loss(&bicycle, &air, 3, 1);
    ck_assert_double_eq_tol(weight_n * 0.3 * loss.drag, -0.5 * 1.2 * 0.3 * 4, 1e-12);
    ck_assert_double_gt(loss.drag_by_speed, 0);
}
END_TEST

START_TEST(derivatives_are_those_of_the_losses) {
    const double d = 1e-5;
    for (double wind = -9; wind < 4; wind += 3.7) {
        struct cw_surroundings air = surroundings, more = surroundings, less = surroundings;
        air.wind_along_ms = wind;
        more.wind_along_ms = wind + d;
        less.wind_along_ms = wind - d;
        struct cw_loss at = cw_coast_loss(&bicycle, &air, 8, 0.99);
        struct cw_loss faster = cw_coast_loss(&bicycle, &air, 8 + d, 0.99);
        struct cw_loss slower = cw_coast_loss(&bicycle, &air, 8 - d, 0.99);
        ck_assert_double_eq_tol(at.drag_by_speed, (faster.drag - slower.drag) / (2 * d), 1e-11);
        ck_assert_double_eq_tol(at.bearing_by_speed, (faster.bearing - slower.bearing) / (2 * d),
                                1e-11);
        ck_assert_double_eq(faster.rolling, slower.rolling);
        double by_wind = cw_coast_loss(&bicycle, &more, 8, 0.99).drag -
                         cw_coast_loss(&bicycle, &less, 8, 0.99).drag;
        ck_assert_double_eq_tol(at.drag_by_speed, by_wind / (2 * d), 1e-11);
    }
}
END_TEST

/* The power that the example needs, taken away, is the deceleration of its coast. */
START_TEST(acceleration_is_the_sum_of_the_forces) {
    double sine = sin(atan(slope));
    double needed_n = (208.25223920300957 - power_kinetic()) / speed_ms;
    ck_assert_double_eq_tol(cw_coast_acceleration(&bicycle, &surroundings, speed_ms, sine),
                            -needed_n / 91.44746228843788, 1e-9);
    struct cw_bicycle smooth = bicycle;
    smooth.frictionless_bearings = true;
    ck_assert_double_eq_tol(cw_coast_acceleration(&smooth, &surroundings, speed_ms, sine) -
                                cw_coast_acceleration(&bicycle, &surroundings, speed_ms, sine),
                            (0.091 + 0.0087 * speed_ms) / 91.44746228843788, 1e-12);
}
END_TEST

/* Closed-form rows, computed: coasts at -3 % and -5 % of 83 kg, g 9.80665, rho 1.2, CdA 0.32,
 * Crr 0.005: a at standstill, with and without 1.447468 kg of turning wheels; 1e-10 relative. */
START_TEST(acceleration_at_standstill_is_closed_form) {
    struct cw_bicycle plain = {
        .mass_kg = 83, .cda_m2 = 0.32, .crr = 0.005, .frictionless_bearings = true};
    struct cw_surroundings still = {.density_kgm3 = 1.2, .gravity_ms2 = 9.80665};
    ck_assert_double_eq_tol(
        cw_coast_acceleration(&plain, &still, 0, sin(atan(-0.03))) / 0.2450559996009, 1, 1e-10);
    ck_assert_double_eq_tol(
        cw_coast_acceleration(&plain, &still, 0, sin(atan(-0.05))) / 0.4407486580825, 1, 1e-10);
    plain.wheel_inertia_kgm2 = 1.447468;
    plain.wheel_radius_m = 1;
    ck_assert_double_eq_tol(
        cw_coast_acceleration(&plain, &still, 0, sin(atan(-0.03))) / 0.2408556283402, 1, 1e-10);
    /* Terminal speed at -3 %. */
    ck_assert_double_eq_tol(cw_coast_acceleration(&plain, &still, 10.29250535556, sin(atan(-0.03))),
                            0, 1e-11);
}
END_TEST

/* 10 m/s round 80 m are 1.25 m/s2 to the side, 0.127 g; with the fourth power of the speed. */
START_TEST(bends) {
    ck_assert_double_eq_tol(cw_bend_loss(10, 1 / 80.0, 9.81), pow(1.25 / 9.81, 2), 1e-15);
    ck_assert_double_eq_tol(cw_bend_loss(5, 1 / 80.0, 9.81), pow(1.25 / 9.81, 2) / 16, 1e-15);
    ck_assert_double_eq(cw_bend_loss(10, 0, 9.81), 0);
}
END_TEST

/* UN GTR 15 takes a car's rolling resistance f at T to f (1 + 0.0086 (T - 20)) at 20 C (annex 4;
 * from memory): about 20 C the factor here is that, to second order. */
START_TEST(tyres_roll_worse_in_the_cold) {
    for (double colder = -6; colder < 7; colder += 3) {
        double there = cw_crr_warmer(0.0086, -colder); /* Crr at 20 C - colder, over that at 20 C */
        ck_assert_double_eq_tol(there * (1 - 0.0086 * colder), 1,
                                2 * pow(0.0086 * colder, 2) + 1e-12);
    }
    ck_assert_double_eq(cw_crr_warmer(0.012, 0), 1);
    ck_assert_double_eq_tol(cw_crr_warmer(0.012, 7) * cw_crr_warmer(0.012, -19),
                            cw_crr_warmer(0.012, -12), 1e-15);
    ck_assert_double_eq_tol(cw_crr_warmer(0.0139, -50), 2, 0.01); /* twice over 50 K: log 2 / 50 */
    /* What is published lies within two standard uncertainties of what is taken. */
    ck_assert_double_le(fabs(0.0086 - CW_CRR_FALL_1K), 2 * CW_CRR_FALL_SD_1K);
    ck_assert_double_le(fabs(log(2) / 50 - CW_CRR_FALL_1K), 2 * CW_CRR_FALL_SD_1K);
    ck_assert_double_le(fabs(log(3) / 50 - CW_CRR_FALL_1K), 2 * CW_CRR_FALL_SD_1K);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("physics_forces");
    TCase *cases = tcase_create("physics_forces");
    tcase_add_test(cases, bends);
    tcase_add_test(cases, tyres_roll_worse_in_the_cold);
    tcase_add_test(cases, forces_are_the_worked_example);
    tcase_add_test(cases, inertia_is_the_worked_example);
    tcase_add_test(cases, bearings_are_martins);
    tcase_add_test(cases, drag_turns_with_the_wind);
    tcase_add_test(cases, derivatives_are_those_of_the_losses);
    tcase_add_test(cases, acceleration_is_the_sum_of_the_forces);
    tcase_add_test(cases, acceleration_at_standstill_is_closed_form);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
