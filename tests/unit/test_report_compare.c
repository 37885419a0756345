/* The answer of a comparison as table, CSV and JSON. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "compared.h"
#include "fit/workings.h"
#include "report/compare_report.h"

static struct cw_text text_of(const struct compared *c, char form, struct cw_look look) {
    const struct cw_analysis *analysis = &c->analysis;
    struct cw_text text = {0};
    struct cw_error error;
    enum cw_status status = form == 't'
                                ? cw_report_compare_table(analysis, true, &look, &text, &error)
                            : form == 'c' ? cw_report_compare_csv(analysis, &text, &error)
                                          : cw_report_compare_json(analysis, &text, &error);
    ck_assert_int_eq(status, CW_OK);
    return text;
}

static const struct cw_look usual = {.columns = 80, .utf8 = true};

static void check_has(const struct cw_text *text, const char *part) {
    ck_assert_msg(strstr(text->bytes, part), "\"%s\" is not in\n%s", part, text->bytes);
}

static void check_lacks(const struct cw_text *text, const char *part) {
    ck_assert_msg(!strstr(text->bytes, part), "\"%s\" is in\n%s", part, text->bytes);
}

static json_t *json_of(const struct compared *c) {
    struct cw_text text = text_of(c, 'j', usual);
    json_error_t error;
    json_t *document = json_loads(text.bytes, JSON_REJECT_DUPLICATES, &error);
    ck_assert_msg(document, "%s", error.text);
    cw_text_free(&text);
    return document;
}

static void check_estimate(const json_t *estimate) {
    static const char *const keys[] = {"value", "standard_error", "low", "high"};
    for (size_t i = 0; i < 4; i++) ck_assert(json_is_number(json_object_get(estimate, keys[i])));
    ck_assert_double_le(json_number_value(json_object_get(estimate, "low")),
                        json_number_value(json_object_get(estimate, "value")));
}

/* Every key that programs rely on. */
START_TEST(json_has_its_keys) {
    struct compared c;
    struct cw_simulate_options options = compared_options(31);
    compared_make(&c, &options);
    ck_assert_int_ge(cw_analysis_time(&c.analysis, NULL), 0);
    json_t *document = json_of(&c);
    ck_assert_str_eq(json_string_value(json_object_get(document, "reference")), "cape");
    json_t *setups = json_object_get(document, "setups");
    ck_assert_uint_eq(json_array_size(setups), 2);
    json_t *setup = json_array_get(setups, 1);
    ck_assert_str_eq(json_string_value(json_object_get(setup, "name")), "jacket");
    ck_assert_int_eq(json_integer_value(json_object_get(setup, "runs")), 4);
    ck_assert_int_eq(json_integer_value(json_object_get(setup, "outings")), 1);
    check_estimate(json_object_get(setup, "cda_m2"));
    json_t *comparisons = json_object_get(document, "comparisons");
    ck_assert_uint_eq(json_array_size(comparisons), 1);
    json_t *comparison = json_array_get(comparisons, 0);
    static const char *const estimates[] = {"difference_m2", "percent", "time_over_road_s",
                                            "watts_at_40kmh"};
    for (size_t i = 0; i < 4; i++) check_estimate(json_object_get(comparison, estimates[i]));
    ck_assert(json_is_null(json_object_get(comparison, "runout_m")));
    ck_assert_str_eq(json_string_value(json_object_get(comparison, "setup")), "jacket");
    ck_assert_str_eq(json_string_value(json_object_get(comparison, "reference")), "cape");
    ck_assert_str_eq(json_string_value(json_object_get(comparison, "verdict")), "lower");
    static const char *const numbers[] = {"df", "p_value", "p_adjusted",
                                          "smallest_detectable_percent", "wind_to_explain_ms"};
    for (size_t i = 0; i < 5; i++)
        ck_assert_msg(json_is_number(json_object_get(comparison, numbers[i])), "%s", numbers[i]);
    json_t *runs = json_object_get(comparison, "runs");
    ck_assert_int_eq(json_integer_value(json_array_get(runs, 0)), 4);
    ck_assert_uint_eq(json_array_size(json_object_get(document, "runs")), 8);
    ck_assert_uint_eq(json_array_size(json_object_get(document, "as_measured")), 1);
    ck_assert_uint_eq(json_array_size(json_object_get(document, "budget")),
                      c.analysis.outings[0].fit.workings->budget.n);
    ck_assert(json_is_array(json_object_get(document, "warnings")));
    ck_assert_uint_eq(json_array_size(json_object_get(document, "left_out")), 0);
    json_decref(document);

    struct cw_text text = text_of(&c, 't', usual);
    check_has(&text, "less drag than cape");
    check_has(&text, "As measured, with no model");
    check_has(&text, "would be wind alone if it blew");
    check_lacks(&text, "nan");
    check_lacks(&text, "adjusted"); /* one comparison: nothing to adjust for */
    cw_text_free(&text);
    /* A narrow and plain terminal: no picture, no sign beyond ASCII. */
    text = text_of(&c, 't', (struct cw_look){.columns = 40});
    for (size_t i = 0; i < text.length; i++) ck_assert_int_ge(text.bytes[i], 0);
    check_lacks(&text, "--o--");
    cw_text_free(&text);
    text = text_of(&c, 'c', usual);
    size_t lines = 0;
    for (const char *at = text.bytes; (at = strstr(at, "\r\n")); at += 2) lines++;
    ck_assert_uint_eq(lines, 2);
    check_has(&text, "setup,reference,setup_runs");
    check_has(&text, "\r\njacket,cape,4,4,-0.0");
    cw_text_free(&text);
    compared_free(&c);
}
END_TEST

START_TEST(outlier_is_said_and_left_out) {
    struct compared c = {0};
    struct cw_simulate_options options = compared_options(32);
    options.n_setups = 3;
    options.setups[2] = options.setups[0];
    strcpy(options.setups[2].name, "up");
    options.setups[2].cda_m2 = 0.5;
    compared_order(&options, "ABBACBBA");
    compared_add(&c, &options, 4, 0);
    compared_compare(&c, NULL);
    struct cw_text text = text_of(&c, 't', (struct cw_look){.columns = 1000, .utf8 = true});
    check_has(&text, "run 5 disagrees with its fellows of cape");
    check_has(&text, "5!");
    check_has(&text, "--drop leaves it out");
    cw_text_free(&text);
    /* Turned down with its reason. */
    c.analysis.outings[0].runs.at[4].kept = false;
    c.analysis.outings[0].runs.at[4].reasons = CW_REASON_OUTLIER;
    text = text_of(&c, 't', (struct cw_look){.columns = 1000, .utf8 = true});
    check_has(&text, "run 5 disagrees with its fellows and is left out, as asked");
    check_lacks(&text, "turned down");
    cw_text_free(&text);
    json_t *document = json_of(&c);
    json_t *left_out = json_array_get(json_object_get(document, "left_out"), 0);
    ck_assert_int_eq(json_integer_value(json_object_get(left_out, "number")), 5);
    ck_assert_str_eq(json_string_value(json_object_get(left_out, "reason")),
                     "disagrees with its fellows");
    json_decref(document);
    compared_free(&c);
}
END_TEST

/* Setups on different days, of different mass, with satellite heights; names that would be control
 * characters on a terminal. */
START_TEST(limits_are_said) {
    struct compared c = {0};
    struct cw_simulate_options options = compared_options(33);
    cw_simulate_elevation(&options, CW_ELEVATION_SATELLITE);
    options.setups[1].load_kg = 4;
    compared_order(&options, "AAAA");
    compared_add(&c, &options, SIZE_MAX, 0);
    options.seed = 34;
    options.start_s += 86400;
    compared_order(&options, "BBBB");
    compared_add(&c, &options, SIZE_MAX, 0);
    char name[] = "day\x1b[31m";
    compared_compare(&c, NULL);
    char *before = c.analysis.outings[1].outing.name;
    c.analysis.outings[1].outing.name = name;
    struct cw_text text = text_of(&c, 't', (struct cw_look){.columns = 1000, .utf8 = true});
    check_has(&text, "jacket and cape were never ridden in one outing");
    check_has(&text, "heights from satellites");
    check_has(&text, "the setups differ in load");
    check_has(&text, "day?[31m");
    check_lacks(&text, "\x1b");
    check_lacks(&text, "nan");
    cw_text_free(&text);
    json_t *document = json_of(&c);
    json_t *comparison = json_array_get(json_object_get(document, "comparisons"), 0);
    ck_assert(json_is_null(json_object_get(comparison, "time_over_road_s")));
    ck_assert(json_is_null(json_object_get(comparison, "wind_to_explain_ms")));
    json_decref(document);
    c.analysis.outings[1].outing.name = before;
    compared_free(&c);
}
END_TEST

START_TEST(one_setup_and_little_data) {
    struct compared c;
    struct cw_simulate_options options = compared_options(35);
    compared_order(&options, "AA");
    compared_make(&c, &options);
    ck_assert(!cw_compare_answers(&c.analysis));
    struct cw_text text = text_of(&c, 't', usual);
    check_has(&text, "only one setup has runs, cape");
    check_lacks(&text, "nan");
    cw_text_free(&text);
    json_t *document = json_of(&c);
    ck_assert_uint_eq(json_array_size(json_object_get(document, "comparisons")), 0);
    json_decref(document);
    compared_free(&c);
    /* One run each: t and p of a run among its fellows are not known, and shown as such. */
    compared_order(&options, "AB");
    compared_make(&c, &options);
    text = text_of(&c, 't', usual);
    check_lacks(&text, "nan");
    check_has(&text, "one run a setup");
    check_lacks(&text, "scatters by");
    cw_text_free(&text);
    compared_free(&c);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report/compare");
    TCase *tests = tcase_create("compare");
    tcase_set_timeout(tests, 300);
    tcase_add_test(tests, json_has_its_keys);
    tcase_add_test(tests, outlier_is_said_and_left_out);
    tcase_add_test(tests, limits_are_said);
    tcase_add_test(tests, one_setup_and_little_data);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
