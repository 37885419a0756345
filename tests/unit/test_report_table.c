#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "report/plain.h"
#include "report/table.h"

static const struct cw_look wide = {.columns = 80, .utf8 = true};
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
    cw_table_write(&table, &wide, &out);
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
    cw_table_write(&table, &wide, &out);
    ck_assert_str_eq(out.bytes, "run  setup\n");
    cw_table_free(&table);
    cw_text_free(&out);
}
END_TEST

/* On a narrow terminal words go on below, and columns that don't fit follow beside the first ones;
 * no line is longer than the terminal. */
START_TEST(a_wide_table_is_folded) {
    static const struct cw_column many[] = {{"run", "", true},     {"setup", "", false},
                                            {"length", "m", true}, {"entry", "km/h", true},
                                            {"exit", "m/s", true}, {"why", "", false}};
    static const struct cw_look narrow = {.columns = 30, .utf8 = true};
    static const struct cw_look wider = {.columns = 54, .utf8 = true};
    struct cw_table table = {.columns = many, .n_columns = 6, .keys = 2};
    struct cw_text out = {0};
    cw_table_add(&table, "%d", 12);
    cw_table_add(&table, "cape");
    cw_table_add_number(&table, 812.25, 0);
    cw_table_add_number(&table, 21.25, 1);
    cw_table_add_number(&table, 7.5, 2);
    cw_table_add(&table, "too short, skipped by the outing file");
    cw_table_write(&table, &narrow, &out);
    ck_assert_str_eq(out.bytes, "run  setup  length  entry\n"
                                "                 m   km/h\n"
                                " 12  cape      812   21.2\n"
                                "\n"
                                "run  setup  exit\n"
                                "            km/h\n"
                                " 12  cape   27.0\n"
                                "\n"
                                "run  setup  why\n"
                                " 12  cape   too short, skipped\n"
                                "            by the outing file\n");
    cw_text_free(&out);
    cw_table_write(&table, &wider, &out);
    ck_assert_str_eq(out.bytes, "run  setup  length  entry  exit  why\n"
                                "                 m   km/h  km/h\n"
                                " 12  cape      812   21.2  27.0  too short, skipped by\n"
                                "                                 the outing file\n");
    cw_table_free(&table);
    cw_text_free(&out);
}
END_TEST

START_TEST(a_unit_stays_with_its_number) {
    static const struct cw_look look = {.columns = 20, .utf8 = true};
    struct cw_text out = {0};
    cw_wrapped_add(&out, "it rolled some 12.5 m further, by 0.9 ± 0.3 km/h", &look, 0);
    ck_assert_str_eq(out.bytes, "it rolled some\n12.5 m further, by\n0.9 ± 0.3 km/h\n");
    cw_text_free(&out);
}
END_TEST

/* 40 km/h are 24.85 mph; a difference of 1 °C is one of 1.8 °F; 984 m are 3228.3 ft. */
START_TEST(imperial_units_are_said_throughout) {
    static const struct cw_look look = {.columns = 100, .utf8 = true, .units = CW_UNITS_IMPERIAL};
    static const struct cw_column shown[] = {{"at 40 km/h", "m/s", true}, {"over", "°C", true}};
    struct cw_table table = {.columns = shown, .n_columns = 2, .units = CW_UNITS_IMPERIAL};
    struct cw_text out = {0};
    cw_wrapped_add(&out, "46 W less (36 to 56 W) at 40 km/h, 14 and 984 m on, 0.0 ± 0.7 km/h;",
                   &look, 0);
    cw_wrapped_add(&out, "8 kg more (95 %: 7.5 to +8.5 kg), 6.0 ± 1.0 °C, 978 hPa, 3 m, 2 runs m",
                   &look, 0);
    ck_assert_str_eq(
        out.bytes, "46 W less (36 to 56 W) at 24.9 mph, 46 and 3228 ft on, 0.0 ± 0.4 mph;\n"
                   "18 lb more (95 %: 16.5 to +18.7 lb), 42.8 ± 1.8 °F, 28.88 inHg, 10 ft, 2 runs "
                   "m\n");
    cw_text_free(&out);
    cw_table_add_number(&table, 12.5, 2);
    cw_table_add_number(&table, 20.25, 1);
    cw_table_write(&table, &look, &out);
    ck_assert_str_eq(out.bytes, "at 24.9 mph  over\n"
                                "        mph    °F\n"
                                "       28.0  68.5\n");
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
    cw_table_write(&table, &wide, &out);
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
    tcase_add_test(tests, a_wide_table_is_folded);
    tcase_add_test(tests, imperial_units_are_said_throughout);
    tcase_add_test(tests, a_unit_stays_with_its_number);
    tcase_add_test(tests, control_characters_are_not_shown);
    tcase_add_test(tests, utf8_is_checked_and_measured);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
