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
    if (status >= 0) status = cw_page_add(analysis, &origin, text, error);
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

int main(void) {
    Suite *suite = suite_create("analysis threads");
    TCase *tests = tcase_create("threads");
    tcase_set_timeout(tests, 240);
    tcase_add_test(tests, threads_do_not_touch_each_other);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
