/* A prediction and a plan as parts of a page: what the command says, as markup in which names stay
 * text. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "page/elsewhere.h"
#include "simulate/settings.h"

static size_t count(const struct cw_text *text, const char *what) {
    size_t n = 0;
    for (const char *at = text->bytes; (at = strstr(at, what)); at += strlen(what)) n++;
    return n;
}

static void has(const struct cw_text *text, const char *words) {
    ck_assert_msg(strstr(text->bytes, words) != NULL, "no \"%s\" in:\n%s", words, text->bytes);
}

/* What is opened is closed, and nothing is there that acts or loads. */
static void is_tidy(const struct cw_text *text) {
    static const char *const pairs[][2] = {{"<p ", "</p>"},           {"<table", "</table>"},
                                           {"<tr>", "</tr>"},         {"<caption", "</caption>"},
                                           {"<ul", "</ul>"},          {"<h3>", "</h3>"},
                                           {"<aside", "</aside>"},    {"<svg", "</svg>"},
                                           {"<figure>", "</figure>"}, {"<div", "</div>"}};
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++)
        ck_assert_msg(count(text, pairs[i][0]) == count(text, pairs[i][1]), "%s", pairs[i][0]);
    ck_assert_uint_eq(count(text, "<script"), 0);
    ck_assert_uint_eq(count(text, "<img"), 0);
    ck_assert_uint_eq(count(text, "href="), 0);
}

/* The numbers of the ride are those of test_report_predict.c. */
START_TEST(a_prediction) {
    struct cw_predict_options options = cw_predict_options_default();
    struct cw_predict_road road;
    struct cw_predict_case with = cw_predict_case_none();
    struct cw_prediction prediction;
    struct cw_text text = {0};
    struct cw_error error;
    ck_assert_int_eq(cw_predict_road_of_slopes("750:-10", &road, &error), CW_OK);
    ck_assert_int_eq(cw_predict_set_all(&options.base, "cda=0.35+-0.01,crr=0.005,mass=83", &error),
                     CW_OK);
    ck_assert_int_eq(cw_predict_set_all(&with, "load=8", &error), CW_OK);
    options.road = &road;
    options.with = &with;
    options.n_with = 1;
    options.trace = true;
    ck_assert_msg(cw_predict(&options, &prediction, &error) == CW_OK, "%s", error.message);
    strcpy(prediction.at[1].label, "<script>&");
    ck_assert_int_eq(cw_page_prediction_add(&prediction, CW_UNITS_METRIC, &text, &error), CW_OK);
    has(&text, "The road 750:-10: 750");
    has(&text, "<aside class=\"care\" aria-label=\"Before this ride\">");
    has(&text, "id=\"predicted-0\"");
    has(&text, "id=\"predicted-1\"");
    has(&text, "With &lt;script&gt;&amp;");
    has(&text, "<h3>Taken, for nothing else was said</h3>");
    ck_assert_uint_eq(count(&text, "<svg"), 1);
    ck_assert_uint_eq(count(&text, "<table"), 2);
    is_tidy(&text);
    cw_text_free(&text);
    cw_prediction_free(&prediction);
    options.trace = false; /* and then there is no picture */
    ck_assert_int_eq(cw_predict(&options, &prediction, &error), CW_OK);
    ck_assert_int_eq(cw_page_prediction_add(&prediction, CW_UNITS_METRIC, &text, &error), CW_OK);
    ck_assert_uint_eq(count(&text, "<figure>"), 0);
    is_tidy(&text);
    cw_text_free(&text);
    cw_prediction_free(&prediction);
    cw_predict_road_free(&road);
}
END_TEST

START_TEST(a_plan) {
    struct cw_plan_options options = cw_plan_options_default();
    struct cw_plan plan;
    struct cw_text text = {0};
    struct cw_error error;
    ck_assert_int_eq(cw_simulate_set_all(&options.day, "road=600:-6", &error), CW_OK);
    ck_assert_int_eq(cw_plan_set(&options, "setups", "cape&hat,bare", &error), CW_OK);
    options.cda_m2 = 0.42;
    options.crr = 0.005;
    options.mass_kg = 83;
    options.runs = 2;
    ck_assert_msg(cw_plan_make(&options, &plan, &error) == CW_OK, "%s", error.message);
    ck_assert_int_eq(cw_page_plan_add(&plan, CW_UNITS_METRIC, &text, &error), CW_OK);
    has(&text, "<aside class=\"care\" aria-label=\"Before the runs planned\">");
    has(&text, "<div class=\"told\">");
    has(&text, "id=\"plan-1\"");
    has(&text, "cape&amp;hat");
    ck_assert_ptr_null(strstr(text.bytes, "cape&hat"));
    has(&text, "<h3>Taken for granted</h3>");
    is_tidy(&text);
    cw_text_free(&text);
    cw_plan_free(&plan);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("page/elsewhere");
    TCase *tests = tcase_create("parts");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, a_prediction);
    tcase_add_test(tests, a_plan);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
