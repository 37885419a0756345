#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "report/csv.h"

/* RFC 4180, section 2: rules 1 (CR LF), 5 to 7 (quotes); a line end in a field is shown, not
 * written.
 */
START_TEST(fields_are_quoted_where_needed) {
    struct cw_text out = {0};
    struct cw_csv csv = {.out = &out};
    cw_csv_add(&csv, "");
    cw_csv_add(&csv, "plain text");
    cw_csv_add(&csv, "a,b");
    cw_csv_add(&csv, "say \"go\"");
    cw_csv_add(&csv, "two\nlines");
    cw_csv_end_row(&csv);
    cw_csv_add_number(&csv, 1234.5625);
    cw_csv_add_number(&csv, NAN);
    cw_csv_add_number(&csv, -1e-7);
    cw_csv_end_row(&csv);
    ck_assert_str_eq(out.bytes, ",plain text,\"a,b\",\"say \"\"go\"\"\",two?lines\r\n"
                                "1234.5625,,-0.0000001\r\n");
    cw_text_free(&out);
}
END_TEST

/* What a spreadsheet takes for a formula is told by these four, blanks before them or not (common
 * practice, no source); U+202E turns the text behind it around (UAX 9). */
START_TEST(a_field_does_nothing) {
    static const char *const fields[][2] = {
        {"=HYPERLINK(\"x\")", "\"'=HYPERLINK(\"\"x\"\")\""},
        {"+1", "'+1"},
        {"-1", "'-1"},
        {"@a", "'@a"},
        {"  =a", "'  =a"},
        {"a=b", "a=b"},
        {" ", " "},
        {"a\xe2\x80\xae\x1b[1mb\xff", "a??[1mb?"},
    };
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++) {
        struct cw_text out = {0};
        struct cw_csv csv = {.out = &out};
        cw_csv_add(&csv, fields[i][0]);
        ck_assert_str_eq(out.bytes, fields[i][1]);
        cw_text_free(&out);
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_csv");
    TCase *tests = tcase_create("csv");
    tcase_add_test(tests, fields_are_quoted_where_needed);
    tcase_add_test(tests, a_field_does_nothing);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
