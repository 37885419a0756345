#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "report/table.h"

static const struct cw_column columns[] = {
    {"run", "", true}, {"setup", "", false}, {"top", "km/h", true}};

START_TEST(columns_are_aligned) {
    struct cw_table table = {.columns = columns, .n_columns = 3};
    struct cw_text out = {0};
    cw_table_add(&table, "%d", 7);
    cw_table_add(&table, "jäckchen");
    cw_table_add_number(&table, 51.26, 1);
    cw_table_add(&table, "%d", 12);
    cw_table_add(&table, "外套");
    cw_table_add_number(&table, NAN, 1);
    cw_table_add(&table, "%d", 13);
    cw_table_add(&table, "%s", "");
    cw_table_add_number(&table, -0.01, 1);
    cw_table_write(&table, &out);
    ck_assert_str_eq(out.bytes, "run  setup      top\n"
                                "               km/h\n"
                                "  7  jäckchen  51.3\n"
                                " 12  外套         -\n"
                                " 13             0.0\n");
    cw_table_free(&table);
    cw_text_free(&out);
}
END_TEST

START_TEST(an_empty_table_has_heads) {
    struct cw_table table = {.columns = columns, .n_columns = 2};
    struct cw_text out = {0};
    cw_table_write(&table, &out);
    ck_assert_str_eq(out.bytes, "run  setup\n");
    cw_table_free(&table);
    cw_text_free(&out);
}
END_TEST

/* A file's name must not be able to move the cursor of the terminal that shows it. */
START_TEST(control_characters_are_not_shown) {
    struct cw_table table = {.columns = columns + 1, .n_columns = 1};
    struct cw_text out = {0};
    cw_table_add(&table, "a\x1b[2Jb\xff\xc2\x9b"
                         "c");
    cw_table_write(&table, &out);
    ck_assert_str_eq(out.bytes, "setup\na?[2Jb??c\n");
    cw_table_free(&table);
    cw_text_free(&out);
}
END_TEST

START_TEST(utf8_is_checked_and_measured) {
    static const struct {
        const char *text;
        size_t width; /* 0: not valid */
    } cases[] = {{"abc", 3},
                 {"Mühle", 5},
                 {"e\xcc\x81", 1},
                 {"外", 2},
                 {"\xf0\x9f\x9a\xb2", 2},
                 {"\xff", 0},
                 {"\xc0\xaf", 0},
                 {"\xed\xa0\x80", 0},
                 {"\xe2\x82", 0},
                 {"\xf5\x80\x80\x80", 0}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        ck_assert_int_eq(cw_utf8_valid(cases[i].text, strlen(cases[i].text)), cases[i].width > 0);
        if (cases[i].width) ck_assert_uint_eq(cw_utf8_width(cases[i].text), cases[i].width);
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_table");
    TCase *tests = tcase_create("tables");
    tcase_add_test(tests, columns_are_aligned);
    tcase_add_test(tests, an_empty_table_has_heads);
    tcase_add_test(tests, control_characters_are_not_shown);
    tcase_add_test(tests, utf8_is_checked_and_measured);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
