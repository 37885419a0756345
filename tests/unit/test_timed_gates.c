#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "timed/gates.h"

START_TEST(gates_stand_where_all_runs_roll) {
    const struct cw_gate_reach reaches[] = {{12.3, 950.8, 0}, {40.2, 948, 1}, {-3, 990, 0}};
    double gates_m[5];
    ck_assert_int_eq(cw_gates_choose(3, reaches, 5, gates_m, NULL), CW_OK);
    ck_assert_double_eq(gates_m[0], 41);
    ck_assert_double_eq(gates_m[2], 494); /* 494.5, to the even metre */
    ck_assert_double_eq(gates_m[4], 948);
    ck_assert_double_eq_tol(gates_m[1], 267.75, 0.5);
}
END_TEST

START_TEST(one_short_run_of_ten_does_not_cost_the_others) {
    struct cw_gate_reach reaches[10];
    double gates_m[2];
    for (size_t i = 0; i < 10; i++) reaches[i] = (struct cw_gate_reach){30, 900, i % 2};
    reaches[4].to_m = 500;
    ck_assert_int_eq(cw_gates_choose(10, reaches, 2, gates_m, NULL), CW_OK);
    ck_assert_double_eq(gates_m[1], 900); /* 81 x 870 > 100 x 470 */
    reaches[4].to_m = 800;
    ck_assert_int_eq(cw_gates_choose(10, reaches, 2, gates_m, NULL), CW_OK);
    ck_assert_double_eq(gates_m[1], 800); /* 100 x 770 > 81 x 870 */
    /* Not where it is the only run of its setup. */
    reaches[4] = (struct cw_gate_reach){30, 500, 7};
    ck_assert_int_eq(cw_gates_choose(10, reaches, 2, gates_m, NULL), CW_OK);
    ck_assert_double_eq(gates_m[1], 500);
    /* Four are too few to leave one out. */
    reaches[3].to_m = 100;
    ck_assert_int_eq(cw_gates_choose(4, reaches, 2, gates_m, NULL), CW_OK);
    ck_assert_double_eq(gates_m[1], 100);
}
END_TEST

START_TEST(nothing_in_common) {
    const struct cw_gate_reach reaches[] = {{0, 300, 0}, {290, 600, 0}};
    struct cw_error error;
    double gates_m[2];
    ck_assert_int_eq(cw_gates_choose(2, reaches, 2, gates_m, &error), CW_E_DATA);
    ck_assert_int_eq(cw_gates_choose(0, reaches, 2, gates_m, &error), CW_E_ARGUMENT);
    ck_assert_int_eq(cw_gates_choose(2, reaches, 1, gates_m, &error), CW_E_ARGUMENT);
}
END_TEST

START_TEST(a_steady_acceleration_is_met_exactly) {
    /* s = 4 t + 0.35 t^2, at uneven times. */
    const double time_s[] = {100, 101, 103.5, 104, 111};
    double s_m[5], speed_ms[5];
    struct cw_gate_passage passage;
    for (int i = 0; i < 5; i++) {
        double t = time_s[i] - 100;
        s_m[i] = 4 * t + 0.35 * t * t;
        speed_ms[i] = 4 + 0.7 * t;
    }
    const struct cw_gate_track track = {5, time_s, s_m, speed_ms};
    for (double t = 0; t <= 11; t += 0.37) {
        ck_assert(cw_gate_pass(&track, 4 * t + 0.35 * t * t, &passage));
        ck_assert_double_eq_tol(passage.time_s, 100 + t, 1e-10);
        ck_assert_double_eq_tol(passage.speed_ms, 4 + 0.7 * t, 1e-9);
        ck_assert_double_eq_tol(passage.acceleration_ms2, 0.7, 1e-9);
    }
    ck_assert(!cw_gate_pass(&track, -0.01, &passage));
    ck_assert(isnan(passage.time_s));
    ck_assert(!cw_gate_pass(&track, s_m[4] + 0.01, &passage));
    ck_assert(cw_gate_pass(&track, s_m[4], &passage));
    ck_assert_double_eq_tol(passage.time_s, 111, 1e-12);
}
END_TEST

START_TEST(standing_still_at_a_gate) {
    /* Any time while it stands at the gate is when it is there. */
    const double time_s[] = {0, 1, 2, 3, 4}, s_m[] = {0, 1, 1, 1, 3}, speed_ms[] = {1, 0, 0, 0, 2};
    const struct cw_gate_track track = {5, time_s, s_m, speed_ms};
    struct cw_gate_passage passage;
    ck_assert(cw_gate_pass(&track, 1, &passage));
    ck_assert_double_ge(passage.time_s, 1);
    ck_assert_double_le(passage.time_s, 3.1);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("compare_gates");
    TCase *tests = tcase_create("gates");
    tcase_add_test(tests, gates_stand_where_all_runs_roll);
    tcase_add_test(tests, one_short_run_of_ten_does_not_cost_the_others);
    tcase_add_test(tests, nothing_in_common);
    tcase_add_test(tests, a_steady_acceleration_is_met_exactly);
    tcase_add_test(tests, standing_still_at_a_gate);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
