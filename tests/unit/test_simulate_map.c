#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "simulate/map.h"

/* sd and correlation exp(-d/reach) as stated, over 19 km, which is some 300 reaches; and a place
 * has one height. */
START_TEST(errors_have_their_size_and_reach) {
    struct cw_simulate_options options = cw_simulate_options_default();
    options.n_segments = 1;
    options.segments[0] = (struct cw_simulate_segment){19000, -2, 90};
    options.map_sd_m = 3;
    options.map_reach_m = 60;
    struct cw_course course;
    struct cw_map map;
    ck_assert_int_eq(cw_course_make(&options, 20, 60, &course, NULL), CW_OK);
    ck_assert_int_eq(cw_map_make(&course, &map, NULL), CW_OK);
    double sum2 = 0, product = 0;
    size_t n = 0;
    for (double s_m = 0; s_m < 18900; s_m += 5, n++) {
        double here_m = cw_map_height(&map, s_m) - cw_course_at(&course, s_m).height_m;
        double there_m = cw_map_height(&map, s_m + 60) - cw_course_at(&course, s_m + 60).height_m;
        sum2 += here_m * here_m;
        product += here_m * there_m;
    }
    /* Four standard errors. */
    ck_assert_double_eq_tol(sqrt(sum2 / (double)n), 3, 3 * 4 / sqrt(19000 / 60.0));
    ck_assert_double_eq_tol(product / sum2, exp(-1), 0.2);
    ck_assert_double_eq(cw_map_height(&map, 777.7), cw_map_height(&map, 777.7));
    cw_map_free(&map);
    cw_course_free(&course);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("simulate_map");
    TCase *cases = tcase_create("simulate_map");
    tcase_add_test(cases, errors_have_their_size_and_reach);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
