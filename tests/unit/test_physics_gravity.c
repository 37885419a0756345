#include <check.h>
#include <stdlib.h>

#include "physics/gravity.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* WGS84, Somigliana's formula (NGA.STND.0036): formula read, computed, checked with GeographicLib
 * 2.1.2's NormalGravity; 1e-9. */
START_TEST(gravity_at_the_ellipsoid_is_somigliana) {
    static const struct {
        double latitude_deg, gravity_ms2;
    } rows[] = {
        {0, 9.7803253359},    {30, 9.793247269215},      {40, 9.801696862805},
        {45, 9.806197769373}, {46.5, 9.807554979286},    {47, 9.808006809164},
        {50, 9.810702135599}, {51.4779, 9.812014063555}, {60, 9.819176953114},
        {90, 9.832184937859},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        ck_assert_double_eq_tol(cw_gravity(rows[i].latitude_deg, 0), rows[i].gravity_ms2, 1e-9);
        ck_assert_double_eq_tol(cw_gravity(-rows[i].latitude_deg, 0), rows[i].gravity_ms2, 1e-9);
    }
}
END_TEST

/* The second-order formula, computed, to the digits given (1e-10 and 6e-12); and exact normal
 * gravity by GeographicLib 2.1.2, from which the formula may depart by 3e-7 up to 3 km. */
START_TEST(gravity_falls_with_height) {
    static const struct {
        double latitude_deg, height_m, exact_ms2, second_order_ms2;
    } rows[] = {
        {0, 100, 9.7800165634, 9.78001657405},    {0, 500, 9.77878161868, 9.77878167089},
        {0, 1000, 9.77723826459, 9.77723836651},  {0, 2000, 9.77415264539, 9.77415283963},
        {0, 3000, 9.77106847738, 9.77106875525},  {45, 100, 9.80588921685, 9.80588922171},
        {45, 500, 9.80465515184, 9.80465517567},  {45, 1000, 9.80311289694, 9.80311294355},
        {45, 2000, 9.80002947454, 9.80002956405}, {45, 3000, 9.79694750129, 9.79694763087},
        {47, 100, 9.80769827203, 9.80769827651},  {47, 500, 9.80646426853, 9.80646429054},
        {47, 1000, 9.80492209048, 9.80492213356}, {47, 2000, 9.8018388217, 9.80183890454},
        {47, 3000, 9.79875700192, 9.7987571221},  {60, 100, 9.81886851096, 9.81886851323},
        {60, 500, 9.8176348873, 9.81763489852},   {60, 1000, 9.81609318385, 9.81609320598},
        {60, 2000, 9.81301086358, 9.81301090709}, {60, 3000, 9.80992999141, 9.80993005642},
        {90, 100, 9.83187660632, 9.83187660622},  {90, 500, 9.83064342501, 9.83064342468},
        {90, 1000, 9.82910227425, 9.82910227403}, {90, 2000, 9.82602105859, 9.82602106036},
        {90, 3000, 9.82294128997, 9.82294129684},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        double gravity = cw_gravity(rows[i].latitude_deg, rows[i].height_m);
        ck_assert_double_eq_tol(gravity, rows[i].second_order_ms2, 1e-10);
        ck_assert_double_eq_tol(gravity, rows[i].exact_ms2, 3e-7);
    }
    /* Free-air gradients, computed by the library; 1e-9 per metre. */
    ck_assert_double_eq_tol((cw_gravity(45, 500) - cw_gravity(45, 0)) / 500, -3.085235066e-6, 1e-9);
    ck_assert_double_eq_tol((cw_gravity(47, 1000) - cw_gravity(47, 0)) / 1000, -3.084718684e-6,
                            1e-9);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("physics_gravity");
    TCase *cases = tcase_create("physics_gravity");
    tcase_add_test(cases, gravity_at_the_ellipsoid_is_somigliana);
    tcase_add_test(cases, gravity_falls_with_height);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
