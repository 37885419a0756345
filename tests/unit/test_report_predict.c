#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "report/predict_report.h"

static struct cw_predict_road road;
static struct cw_predict_case with[1];
static struct cw_prediction prediction;

static void make(const char *slopes, const char *base, const char *changes) {
    struct cw_predict_options options = cw_predict_options_default();
    struct cw_error error;
    ck_assert_int_eq(cw_predict_road_of_slopes(slopes, &road, &error), CW_OK);
    ck_assert_int_eq(cw_predict_set_all(&options.base, base, &error), CW_OK);
    options.road = &road;
    options.with = with;
    options.worth_kg = 10;
    options.trace = true;
    if (changes) {
        with[0] = cw_predict_case_none();
        ck_assert_int_eq(cw_predict_set_all(&with[0], changes, &error), CW_OK);
        options.n_with = 1;
    }
    ck_assert_msg(cw_predict(&options, &prediction, &error) == CW_OK, "%s", error.message);
}

static void done(struct cw_text *text) {
    cw_text_free(text);
    cw_prediction_free(&prediction);
    cw_predict_road_free(&road);
}

static void has(const struct cw_text *text, const char *words) {
    ck_assert_msg(strstr(text->bytes, words) != NULL, "no \"%s\" in:\n%s", words, text->bytes);
}

static const struct cw_look look = {.columns = 100, .utf8 = true};

START_TEST(table_of_a_descent) {
    struct cw_text text = {0};
    make("750:-10", "cda=0.35+-0.01,crr=0.005,mass=83", "load=8");
    ck_assert_int_eq(cw_report_predict_table(&prediction, &look, &text, NULL), CW_OK);
    has(&text, "The road 750:-10: 750 m, 74.6 m down, at its steepest -10.0 %.");
    has(&text, "83.0 kg, CdA 0.3500 m2, Crr 0.00500, air of 1.2255 kg/m3, no wind, from a held");
    has(&text, "still rolling at the end");
    has(&text, "change of CdA worth 10 kg more");
    has(&text, "With load=8: 91.0 kg");
    has(&text, "standard atmosphere's at 0 m");
    has(&text, "Before riding");
    has(&text, "post a marshal");
    has(&text, "Local traffic law");
    has(&text, "From 70 km/h a sound bicycle needs some 100 m to stop");
    done(&text);
}
END_TEST

START_TEST(table_of_what_never_moves) {
    struct cw_text text = {0};
    make("750:0", "cda=0.35,crr=0.005,mass=83", "wind=-12");
    ck_assert_int_eq(cw_report_predict_table(&prediction, &look, &text, NULL), CW_OK);
    has(&text, "never moves");
    has(&text, "neither slope nor air sets it rolling");
    has(&text, "a tailwind of 43.2 km/h");
    has(&text, "still rolling at the end"); /* with it behind */
    done(&text);
    make("100:-5,900:3", "cda=0.35,crr=0.005,mass=83", NULL);
    ck_assert_int_eq(cw_report_predict_table(&prediction, &look, &text, NULL), CW_OK);
    has(&text, "stands still on the way, after ");
    has(&text, "there is no time to the end");
    done(&text);
}
END_TEST

static double at(const json_t *of, const char *key, const char *part) {
    json_t *estimate = json_object_get(of, key);
    ck_assert_msg(json_is_object(estimate), "%s is no estimate", key);
    return json_number_value(json_object_get(estimate, part));
}

START_TEST(json_as_the_contract_has_it) {
    static const char *const keys[] = {"time_s", "top_speed_ms", "terminal_speed_ms",
                                       "stopping_distance_m"};
    struct cw_text text = {0};
    make("750:-10", "cda=0.35+-0.01,crr=0.005,mass=83", "load=8");
    ck_assert_int_eq(cw_report_predict_json(&prediction, &text, NULL), CW_OK);
    json_t *whole = json_loads(text.bytes, 0, NULL);
    ck_assert_ptr_nonnull(whole);
    ck_assert_str_eq(json_string_value(json_object_get(whole, "command")), "predict");
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        double value = at(whole, keys[i], "value"), se = at(whole, keys[i], "standard_error");
        ck_assert_double_gt(se, 0);
        ck_assert_double_lt(at(whole, keys[i], "low"), value - 1.9 * se);
        ck_assert_double_gt(at(whole, keys[i], "high"), value + 1.9 * se);
    }
    ck_assert(json_is_null(json_object_get(whole, "runout_m")));
    json_t *other = json_array_get(json_object_get(whole, "with"), 0);
    ck_assert_str_eq(json_string_value(json_object_get(other, "with")), "load=8");
    ck_assert_double_eq_tol(at(json_object_get(other, "difference"), "time_s", "value"),
                            at(other, "time_s", "value") - at(whole, "time_s", "value"), 1e-6);
    ck_assert_uint_eq(json_array_size(json_object_get(whole, "cautions")), 3);
    ck_assert_uint_ge(json_array_size(json_object_get(whole, "defaults")), 4);
    json_decref(whole);
    done(&text);
}
END_TEST

START_TEST(csv_has_all_the_way) {
    struct cw_text text = {0};
    make("300:-10", "cda=0.35,crr=0.005,mass=83", "load=8");
    ck_assert_int_eq(cw_report_predict_csv(&prediction, &text, NULL), CW_OK);
    has(&text, "with,time_s,s_m,height_m,slope_percent,speed_ms,acceleration_ms2\r\n,0,0,0,-10,0,");
    has(&text, "\r\nload=8,0,0,");
    size_t lines = 0;
    for (const char *c = text.bytes; *c; c++) lines += *c == '\n';
    ck_assert_uint_eq(lines, 1 + prediction.at[0].trace.n + prediction.at[1].trace.n);
    done(&text);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_predict");
    TCase *report = tcase_create("report");
    tcase_add_test(report, table_of_a_descent);
    tcase_add_test(report, table_of_what_never_moves);
    tcase_add_test(report, json_as_the_contract_has_it);
    tcase_add_test(report, csv_has_all_the_way);
    suite_add_tcase(suite, report);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
