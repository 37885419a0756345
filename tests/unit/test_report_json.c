#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "report/json.h"

START_TEST(values_are_written_as_agreed) {
    bool failed = false;
    struct cw_text out = {0};
    struct cw_error error;
    struct cw_json document = cw_json_object(&failed), list = cw_json_array(&failed);
    struct cw_warnings warnings = {0};
    cw_warning_add(&warnings, 1, 12, "time goes \"backwards\"");
    cw_warning_add(&warnings, 1, 15, "not seen");
    cw_json_append(list, cw_json_number(NAN));
    cw_json_append(list, cw_json_number(INFINITY));
    cw_json_append(list, cw_json_number(0.1));
    cw_json_append(list, cw_json_string("a\xff"
                                        "b\xe2\x80\xae" /* U+202E turns text around: UAX 9 */
                                        "\xc2\x9b\n\xc2\xb2"));
    cw_json_set(document, "list", list.value);
    cw_json_set(document, "time", cw_json_time(1e9 + 0.25));
    cw_json_set(document, "never", cw_json_time(NAN));
    cw_json_set(document, "cda_m2", cw_json_estimate(cw_estimate_make(0.3125, 0.0125, 2.0)));
    cw_json_set(document, "unknown", cw_json_estimate(cw_estimate_make(NAN, 1, 2)));
    cw_json_set(document, "warnings", cw_json_warnings(&warnings));
    ck_assert_int_eq(cw_json_finish(document, &out, &error), CW_OK);
    ck_assert_str_eq(out.bytes, "{\n"
                                " \"list\": [\n  null,\n  null,\n  0.1,\n"
                                "  \"a\xef\xbf\xbd"
                                "b\\u202e\\u009b\\n\xc2\xb2\"\n ],\n"
                                " \"time\": \"2001-09-09T01:46:40.250Z\",\n"
                                " \"never\": null,\n"
                                " \"cda_m2\": {\n  \"value\": 0.3125,\n"
                                "  \"standard_error\": 0.0125,\n"
                                "  \"low\": 0.2875,\n  \"high\": 0.3375\n },\n"
                                " \"unknown\": null,\n"
                                " \"warnings\": [\n"
                                "  \"line 12: time goes \\\"backwards\\\" (2 times)\"\n ]\n"
                                "}\n");
    cw_text_free(&out);
}
END_TEST

START_TEST(a_missing_part_fails_the_document) {
    bool failed = false;
    struct cw_text out = {0};
    struct cw_error error;
    struct cw_json document = cw_json_object(&failed);
    cw_json_set(document, "lost", NULL); /* as when memory runs out */
    ck_assert_int_eq(cw_json_finish(document, &out, &error), CW_E_MEMORY);
    cw_text_free(&out);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_json");
    TCase *tests = tcase_create("json");
    tcase_add_test(tests, values_are_written_as_agreed);
    tcase_add_test(tests, a_missing_part_fails_the_document);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
