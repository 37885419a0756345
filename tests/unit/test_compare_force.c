#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "compare/force.h"

static char loaded[] = "loaded", tyres[] = "all";
static struct cw_setup setups[] = {
    {.name = loaded, .tyres = tyres, .pressure_kpa = NAN, .load_kg = 5}};
static struct cw_outing outing = {
    .rider.mass_kg = 66, .rider.bike_mass_kg = 9, .n_setups = 1, .setups = setups, .crr = NAN};
static const struct cw_setup_result result = {.name = loaded,
                                              .cda_m2 = {0.36, 0.02, 0.32, 0.40, 0},
                                              .crr = {0.005, 0.0005, 0.004, 0.006, 0},
                                              .correlation = -0.9};

/* 10 m/s, 80 kg: drag 1.2 x 100 x 0.36 / 2 = 21.6 +- 1.2 N, tyres 80 x 9.8 x 0.005 = 3.92 +- 0.392
 * N, bearings 0.091 + 0.087 N; 1.2^2 + 0.392^2 - 2 x 0.9 x 1.2 x 0.392 = 0.746944. */
START_TEST(what_one_has_too_much_the_other_has_too_little) {
    struct cw_fit fit = {.of.outing = &outing, .place = {.density_kgm3 = 1.2, .gravity_ms2 = 9.8}};
    struct cw_estimate force = cw_setup_force_n(&fit, &result, 10);
    ck_assert_double_eq_tol(force.value, 25.698, 1e-9);
    ck_assert_double_eq_tol(force.standard_error, sqrt(0.746944), 1e-9);
    ck_assert_double_eq_tol(force.high - force.low, 4 * force.standard_error, 1e-9);
}
END_TEST

START_TEST(a_crr_that_was_given_has_its_own_error) {
    struct cw_outing given = outing;
    struct cw_fit fit = {
        .of.outing = &given, .crr_given = true, .place = {.density_kgm3 = 1.2, .gravity_ms2 = 9.8}};
    struct cw_setup_result setup = result;
    setup.crr = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    setup.correlation = NAN;
    given.crr = 0.004;
    given.crr_uncertainty = 0.001;
    struct cw_estimate force = cw_setup_force_n(&fit, &setup, 10);
    ck_assert_double_eq_tol(force.value, 21.6 + 80 * 9.8 * 0.004 + 0.178, 1e-9);
    ck_assert_double_eq_tol(force.standard_error, hypot(1.2, 0.784), 1e-9);
}
END_TEST

START_TEST(unknown_where_there_is_none) {
    struct cw_fit fit = {.of.outing = &outing, .place = {.density_kgm3 = 1.2, .gravity_ms2 = 9.8}};
    struct cw_setup_result other = result, untold = result;
    static char another[] = "another";
    other.name = another;
    untold.cda_m2 = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    ck_assert(isnan(cw_setup_force_n(&fit, &other, 10).value));
    ck_assert(isnan(cw_setup_force_n(&fit, &untold, 10).value));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("compare_force");
    TCase *force = tcase_create("force");
    tcase_add_test(force, what_one_has_too_much_the_other_has_too_little);
    tcase_add_test(force, a_crr_that_was_given_has_its_own_error);
    tcase_add_test(force, unknown_where_there_is_none);
    suite_add_tcase(suite, force);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
