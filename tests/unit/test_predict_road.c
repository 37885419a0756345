#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "compared.h"
#include "predict/road.h"

START_TEST(slopes_and_their_corners) {
    struct cw_predict_road road;
    ck_assert_int_eq(cw_predict_road_of_slopes("400:-5,100:0,500:4:30", &road, NULL), CW_OK);
    ck_assert_int_eq(road.kind, CW_PREDICT_SLOPES);
    ck_assert_str_eq(road.name, "400:-5,100:0,500:4:30");
    ck_assert_double_eq(road.length_m, 1000);
    ck_assert_double_eq(road.known_m, 1000);
    double down = sin(atan(0.05)) * 400, up = sin(atan(0.04)) * 500;
    ck_assert_double_eq_tol(cw_predict_road_height(&road, 200), -down / 2, 1e-12);
    ck_assert_double_eq_tol(cw_predict_road_height(&road, 450), -down, 1e-12);
    ck_assert_double_eq_tol(cw_predict_road_height(&road, 1000), up - down, 1e-12);
    ck_assert_double_eq_tol(cw_predict_road_drop(&road), down - up, 1e-12);
    ck_assert_double_eq_tol(cw_predict_road_sine(&road, 400), -sin(atan(0.05)), 1e-15);
    ck_assert_double_eq(cw_predict_road_sine(&road, 400.001), 0);
    ck_assert_double_eq_tol(road.steepest_sine, -sin(atan(0.05)), 1e-15);
    ck_assert_double_eq(road.lowest_m, 400);
    ck_assert_double_eq(road.entry_speed_ms, 0);
    ck_assert_double_eq(road.scale_sd, 0);
    cw_predict_road_free(&road);
    ck_assert_int_eq(cw_predict_road_of_slopes("dip", &road, NULL), CW_OK);
    ck_assert_double_eq(road.length_m, 1200);
    cw_predict_road_free(&road);
    ck_assert_int_eq(cw_predict_road_of_slopes("100:5,100:-2", &road, NULL), CW_OK);
    ck_assert_double_eq(road.lowest_m, 0);
    cw_predict_road_free(&road);
}
END_TEST

START_TEST(slopes_that_are_none) {
    static const char *const texts[] = {"",     "loop",     "750",   "750:",    "750:-45",
                                        "2:-5", "750:-10,", "750:x", "-750:-10"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        struct cw_predict_road road;
        struct cw_error error;
        ck_assert_int_eq(cw_predict_road_of_slopes(texts[i], &road, &error), CW_E_ARGUMENT);
        ck_assert_uint_gt(strlen(error.message), 10);
        cw_predict_road_free(&road);
    }
}
END_TEST

/* A recording made on slopes has their heights and length again. */
START_TEST(the_way_of_a_recording) {
    struct compared c = {0};
    struct cw_simulate_options options = compared_options(3);
    struct cw_predict_road road;
    struct cw_error error;
    options.n_order = 2;
    compared_add(&c, &options, SIZE_MAX, 0);
    ck_assert_int_ge(cw_analysis_find(&c.analysis, &error), 0);
    struct cw_analysed *of = &c.analysis.outings[0];
    of->heights.told = false; /* then a barometer's, which these are */
    ck_assert_int_eq(cw_predict_road_of_run(of, 0, &road, &error), CW_OK);
    ck_assert_int_eq(road.kind, CW_PREDICT_RUN);
    ck_assert_double_eq_tol(road.length_m, 1000, 30);
    ck_assert_double_eq_tol(cw_predict_road_drop(&road) / road.length_m, sin(atan(0.06)), 0.002);
    for (double s = 100; s < 900; s += 50)
        ck_assert_double_eq_tol(cw_predict_road_sine(&road, s), -sin(atan(0.06)), 0.012);
    ck_assert_double_eq_tol(road.steepest_sine, -sin(atan(0.06)), 0.006);
    ck_assert_double_eq_tol(road.entry_speed_ms, 4, 0.7);
    ck_assert_double_eq_tol(road.middle_height_m, 470, 5);
    ck_assert_double_eq_tol(road.latitude_deg, 46.5, 0.1);
    ck_assert_double_gt(road.tilt_sd_m, 0);
    ck_assert_double_gt(road.scale_sd, 0);
    cw_predict_road_free(&road);
    ck_assert_int_eq(cw_predict_road_of_run(of, of->runs.at[1].number, &road, &error), CW_OK);
    ck_assert_int_eq(road.run, of->runs.at[1].number);
    cw_predict_road_free(&road);
    ck_assert_int_eq(cw_predict_road_of_run(of, 77, &road, &error), CW_E_DATA);
    ck_assert_ptr_nonnull(strstr(error.message, "no run 77"));
    cw_predict_road_free(&road);
    ck_assert_int_eq(cw_predict_road_of_way(&of->recordings[0], &of->motions[0], &road, &error),
                     CW_OK);
    ck_assert_int_eq(road.kind, CW_PREDICT_WHOLE);
    ck_assert_double_gt(road.length_m, 3000); /* down twice, and up between */
    ck_assert_double_gt(road.lowest_m, 900);
    cw_predict_road_free(&road);
    for (size_t i = 0; i < of->runs.n; i++) of->runs.at[i].kept = false;
    ck_assert_int_eq(cw_predict_road_of_run(of, 0, &road, &error), CW_E_DATA);
    cw_predict_road_free(&road);
    compared_free(&c);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("predict_road");
    TCase *road = tcase_create("road");
    tcase_set_timeout(road, 60);
    tcase_add_test(road, slopes_and_their_corners);
    tcase_add_test(road, slopes_that_are_none);
    tcase_add_test(road, the_way_of_a_recording);
    suite_add_tcase(suite, road);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
