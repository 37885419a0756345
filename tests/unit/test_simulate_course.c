#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "simulate/course.h"

static struct cw_simulate_options winding(void) {
    struct cw_simulate_options options = cw_simulate_options_default();
    options.n_segments = 3;
    options.segments[0] = (struct cw_simulate_segment){200, -7, 40};
    options.segments[1] = (struct cw_simulate_segment){150, 3, -75};
    options.segments[2] = (struct cw_simulate_segment){120, -1, 0};
    return options;
}

/* Height and line are the integrals of slope and heading: by central differences, 1 cm apart. */
START_TEST(slope_and_line_belong_together) {
    struct cw_simulate_options options = winding();
    struct cw_course course;
    ck_assert_int_eq(cw_course_make(&options, 20, 60, &course, NULL), CW_OK);
    ck_assert_double_eq(course.length_m, 470);
    for (double s_m = -15; s_m < 520; s_m += 3.7) {
        struct cw_course_point a = cw_course_at(&course, s_m - 0.005);
        struct cw_course_point b = cw_course_at(&course, s_m + 0.005);
        double sine = (b.height_m - a.height_m) / 0.01;
        double east = (b.east_m - a.east_m) / 0.01, north = (b.north_m - a.north_m) / 0.01;
        double heading = cw_course_heading(&course, s_m);
        ck_assert_double_eq_tol(sine, cw_course_sine(&course, s_m), 1e-6);
        ck_assert_double_eq_tol(sine * sine + east * east + north * north, 1, 1e-5);
        ck_assert_double_eq_tol(remainder(atan2(east, north) - heading, 2 * acos(-1)), 0, 1e-5);
    }
    cw_course_free(&course);
}
END_TEST

/* The curve is what the heading changes by. */
START_TEST(curve_is_the_headings_change) {
    struct cw_simulate_options options = winding();
    struct cw_course course;
    ck_assert_int_eq(cw_course_make(&options, 20, 60, &course, NULL), CW_OK);
    for (double s_m = -15; s_m < 520; s_m += 3.7) {
        double change =
            cw_course_heading(&course, s_m + 0.005) - cw_course_heading(&course, s_m - 0.005);
        ck_assert_double_eq_tol(cw_course_curve(&course, s_m), change / 0.01, 1e-5);
    }
    cw_course_free(&course);
}
END_TEST

/* Away from the transitions the slopes are the ones asked for, and a transition, being
 * symmetrical, leaves the heights as if the slopes met in a corner. */
START_TEST(slopes_are_the_ones_asked_for) {
    struct cw_simulate_options options = winding();
    struct cw_course course;
    ck_assert_int_eq(cw_course_make(&options, 20, 60, &course, NULL), CW_OK);
    ck_assert_double_eq_tol(cw_course_sine(&course, 100), sin(atan(-0.07)), 1e-12);
    ck_assert_double_eq_tol(cw_course_sine(&course, 280), sin(atan(0.03)), 1e-12);
    ck_assert_double_eq_tol(cw_course_sine(&course, 200), (sin(atan(-0.07)) + sin(atan(0.03))) / 2,
                            1e-12);
    struct cw_course_point top = cw_course_at(&course, 0), end = cw_course_at(&course, 470);
    ck_assert_double_eq_tol(top.height_m, options.height_m, 1e-9);
    ck_assert_double_eq_tol(top.east_m, 0, 1e-9);
    double expected_m = 200 * sin(atan(-0.07)) + 150 * sin(atan(0.03)) + 120 * sin(atan(-0.01));
    ck_assert_double_eq_tol(end.height_m - top.height_m, expected_m, 1e-6);
    ck_assert_double_eq_tol(cw_course_heading(&course, 470), (70 + 40 - 75) * acos(-1) / 180,
                            1e-12);
    cw_course_free(&course);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("simulate_course");
    TCase *cases = tcase_create("simulate_course");
    tcase_add_test(cases, slope_and_line_belong_together);
    tcase_add_test(cases, curve_is_the_headings_change);
    tcase_add_test(cases, slopes_are_the_ones_asked_for);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
