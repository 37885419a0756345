#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "picture/predicted.h"

static char *draw(const char *slopes, const char *base, const char *changes,
                  enum cw_status *status) {
    struct cw_predict_options options = cw_predict_options_default();
    struct cw_predict_case with = cw_predict_case_none();
    struct cw_predict_road road;
    struct cw_prediction prediction;
    struct cw_text text = {0};
    struct cw_error error;
    ck_assert_int_eq(cw_predict_road_of_slopes(slopes, &road, &error), CW_OK);
    ck_assert_int_eq(cw_predict_set_all(&options.base, base, &error), CW_OK);
    ck_assert_int_eq(cw_predict_set_all(&with, changes, &error), CW_OK);
    options.road = &road;
    options.with = &with;
    options.n_with = 1;
    options.trace = true;
    ck_assert_int_eq(cw_predict(&options, &prediction, &error), CW_OK);
    *status = cw_picture_predicted_add(&prediction, CW_UNITS_METRIC, &text, &error);
    cw_prediction_free(&prediction);
    cw_predict_road_free(&road);
    return text.bytes;
}

START_TEST(a_line_a_ride) {
    enum cw_status status;
    char *svg = draw("400:-7,300:2", "cda=0.35+-0.01,crr=0.005,mass=83", "load=8", &status);
    ck_assert_int_eq(status, CW_OK);
    ck_assert_int_eq(strncmp(svg, "<svg ", 5), 0);
    ck_assert_ptr_nonnull(strstr(svg, "</svg>"));
    ck_assert_ptr_nonnull(strstr(svg, "Predicted speed of 2 rides"));
    ck_assert_ptr_nonnull(strstr(svg, "load=8: "));
    ck_assert_ptr_nonnull(strstr(svg, "speed, km/h"));
    ck_assert_ptr_nonnull(strstr(svg, "height, m"));
    ck_assert_ptr_nonnull(strstr(svg, "a sound bicycle needs some "));
    ck_assert_ptr_nonnull(strstr(svg, "Local traffic law"));
    ck_assert_ptr_null(strstr(svg, "nan"));
    free(svg);
}
END_TEST

START_TEST(nothing_to_draw) {
    enum cw_status status;
    char *svg = draw("400:0", "cda=0.35,crr=0.005,mass=83", "load=8", &status);
    ck_assert_int_eq(status, CW_E_DATA);
    ck_assert_ptr_null(svg);
    svg = draw("400:0", "cda=0.35,crr=0.005,mass=83", "start-speed=8", &status);
    ck_assert_int_eq(status, CW_OK); /* one of them moves */
    ck_assert_ptr_nonnull(strstr(svg, "never moves"));
    free(svg);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("picture_predicted");
    TCase *picture = tcase_create("picture");
    tcase_add_test(picture, a_line_a_ride);
    tcase_add_test(picture, nothing_to_draw);
    suite_add_tcase(suite, picture);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
