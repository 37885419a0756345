/* Eight analyses at once answer, digit for digit, what one alone does. Run under the thread
 * sanitizer as well (.ci/run): what two threads touch and one of them changes is then named. */
#include <check.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/analysis.h"
#include "page/page.h"
#include "report/compare_report.h"
#include "report/fit_report.h"
#include "report/runs_report.h"

#define AT_ONCE 8

struct asked {
    pthread_barrier_t *start; /* NULL: at once */
    enum cw_status status;
    struct cw_text text; /* every answer, one after the other */
};

static enum cw_status answer(struct cw_analysis *analysis, struct cw_text *text,
                             struct cw_error *error) {
    static const char *const path = FIXTURES "/demo/outing.ini";
    static const struct cw_look look = {.columns = 80, .utf8 = true};
    const struct cw_page_origin origin = {.version = "0"};
    enum cw_status status = cw_analysis_open_outings(analysis, &path, 1, error);
    if (status >= 0) status = cw_analysis_find(analysis, error);
    if (status >= 0) status = cw_report_runs_json(&analysis->outings[0], text, error);
    if (status >= 0) status = cw_analysis_fit(analysis, error);
    if (status >= 0) status = cw_analysis_average(analysis, error);
    if (status >= 0) status = cw_report_fit_json(analysis, text, error);
    if (status >= 0) status = cw_analysis_compare(analysis, NULL, error);
    if (status >= 0) status = cw_analysis_time(analysis, error);
    if (status >= 0) status = cw_report_compare_json(analysis, text, error);
    if (status >= 0) status = cw_report_compare_table(analysis, true, &look, text, error);
    if (status >= 0) status = cw_page_add(analysis, CW_UNITS_METRIC, &origin, text, error);
    return status;
}

static void *ask(void *state) {
    struct asked *asked = state;
    struct cw_analysis analysis;
    struct cw_error error;
    if (asked->start) pthread_barrier_wait(asked->start);
    cw_analysis_begin(&analysis, NULL);
    asked->status = answer(&analysis, &asked->text, &error);
    cw_analysis_free(&analysis);
    return NULL;
}

/* The threads come first, so that whatever a library sets up when it is first used, it sets up in
 * all of them. */
START_TEST(threads_do_not_touch_each_other) {
    pthread_barrier_t start;
    pthread_t thread[AT_ONCE];
    struct asked asked[AT_ONCE] = {0}, alone = {0};
    ck_assert_int_eq(pthread_barrier_init(&start, NULL, AT_ONCE), 0);
    for (int i = 0; i < AT_ONCE; i++) {
        asked[i].start = &start;
        ck_assert_int_eq(pthread_create(&thread[i], NULL, ask, &asked[i]), 0);
    }
    for (int i = 0; i < AT_ONCE; i++) pthread_join(thread[i], NULL);
    pthread_barrier_destroy(&start);

    ask(&alone);
    ck_assert_int_eq(alone.status, CW_OK);
    ck_assert_ptr_nonnull(strstr(alone.text.bytes, "\"verdict\": \"lower\""));
    for (int i = 0; i < AT_ONCE; i++) {
        ck_assert_int_eq(asked[i].status, CW_OK);
        ck_assert_msg(!strcmp(asked[i].text.bytes, alone.text.bytes), "thread %d differs", i);
        cw_text_free(&asked[i].text);
    }
    cw_text_free(&alone.text);
}
END_TEST

/* What is said on the way, and the answers. */
static void take_notice(void *caller, const struct cw_notice *notice) {
    cw_text_add(caller, "%s:%ld: %s\n", notice->file, notice->line, notice->message);
}

static void take_progress(void *caller, const char *doing, size_t i, size_t n, const char *file) {
    cw_text_add(caller, "%s %zu of %zu: %s\n", doing, i, n, file);
}

static void begin(struct cw_analysis *analysis, size_t threads, struct cw_text *text) {
    cw_analysis_begin(analysis, &(struct cw_analysis_options){.notice = take_notice,
                                                              .progress = take_progress,
                                                              .caller = text,
                                                              .threads = threads});
}

static void search(size_t threads, struct cw_text *text) {
    static const char *const paths[] = {
        FIXTURES "/ridden/lane-1.gpx.gz", FIXTURES "/none.gpx",
        FIXTURES "/ridden/lane-2.gpx.gz", FIXTURES "/ridden/coasts.gpx.gz",
        FIXTURES "/ridden/README.md",     FIXTURES "/ridden/lane-3.gpx.gz",
        FIXTURES "/ridden/lane-4.gpx.gz"};
    struct cw_analysis analysis;
    struct cw_error error;
    begin(&analysis, threads, text);
    ck_assert_int_eq(cw_analysis_open_files(&analysis, paths, 7, &error), CW_OK);
    ck_assert_int_eq(cw_analysis_find(&analysis, &error), CW_OK);
    ck_assert_uint_eq(analysis.outings[0].n_recordings, 5);
    ck_assert_int_eq(cw_report_runs_json(&analysis.outings[0], text, &error), CW_OK);
    cw_analysis_free(&analysis);
}

/* Outings each in a thread of its own; one alone is worked on by all of them. */
static void fit(const char *const *paths, size_t n, size_t fitted, size_t threads,
                struct cw_text *text) {
    struct cw_analysis analysis;
    struct cw_error error;
    begin(&analysis, threads, text);
    ck_assert_int_eq(cw_analysis_open_outings(&analysis, paths, n, &error), CW_OK);
    ck_assert_int_eq(cw_analysis_find(&analysis, &error), CW_OK);
    ck_assert_int_eq(cw_analysis_fit(&analysis, &error), CW_OK);
    ck_assert_int_eq(cw_analysis_average(&analysis, &error), CW_OK);
    ck_assert_uint_eq(analysis.n, fitted);
    ck_assert_int_eq(cw_report_fit_json(&analysis, text, &error), CW_OK);
    cw_analysis_free(&analysis);
}

/* What is said and answered, in what order and to the last digit. */
START_TEST(threads_change_nothing) {
    static const char *const paths[] = {FIXTURES "/demo/outing.ini", FIXTURES "/none.ini",
                                        FIXTURES "/demo/outing.ini"};
    struct cw_text alone = {0}, together = {0};
    search(1, &alone);
    search(4, &together);
    fit(paths, 3, 2, 0, &alone);
    fit(paths, 3, 2, 3, &together);
    fit(paths, 1, 1, 1, &alone);
    fit(paths, 1, 1, 3, &together);
    ck_assert(!alone.failed && !together.failed);
    ck_assert_str_eq(alone.bytes, together.bytes);
    cw_text_free(&alone);
    cw_text_free(&together);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("analysis threads");
    TCase *tests = tcase_create("threads");
    tcase_set_timeout(tests, 240);
    tcase_add_test(tests, threads_do_not_touch_each_other);
    tcase_add_test(tests, threads_change_nothing);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
