#include <check.h>
#include <stdlib.h>

#include "report/units.h"

static void expect(const char *ours, const char *theirs) {
    struct cw_text said = {0};
    cw_units_say(&said, ours, CW_UNITS_IMPERIAL);
    ck_assert_str_eq(said.bytes, theirs);
    cw_text_free(&said);
    cw_units_say(&said, ours, CW_UNITS_METRIC);
    ck_assert_str_eq(said.bytes, ours);
    cw_text_free(&said);
}

/* The mile is 1609.344 m, the foot 0.3048 m, the pound 0.45359237 kg (international yard and pound
 * agreement, 1959); 1013.25 hPa are 29.92 inHg and 15 degrees C are 59 degrees F (ICAO standard
 * atmosphere, as printed in both). */
START_TEST(sentences_have_their_numbers_and_units) {
    expect("at 1609 m", "at 5279 ft");
    expect("16.1 km long, at 40 km/h", "10.0 mi long, at 24.9 mph");
    expect("70.0 kg and 9 kg", "154.3 lb and 20 lb");
    expect("15 \u00b0C at 1013.25 hPa", "59 \u00b0F at 29.9213 inHg");
    expect("it took 46.2 s and 12 W, at CdA 0.412 m\u00b2",
           "it took 46.2 s and 12 W, at CdA 0.412 m\u00b2");
}
END_TEST

START_TEST(differences_have_no_offset) {
    expect("9.5 \u00b1 0.5 \u00b0C", "49.1 \u00b1 0.9 \u00b0F");
    expect("off by 10 \u00b0C", "off by 18 \u00b0F");
}
END_TEST

START_TEST(ranges_and_intervals_share_a_unit) {
    expect("40 and 960 m along", "131 and 3150 ft along");
    expect("12.3 m (9.8 to 14.8), or more", "40.4 ft (32.2 to 48.6), or more");
    expect("12.3 m (3 runs)", "40.4 ft (3 runs)");
    expect("12.3 s (9.8 to 14.8)", "12.3 s (9.8 to 14.8)");
}
END_TEST

START_TEST(signs_and_blanks_stay_as_they_are_set) {
    expect("\u22121.5 m and +2 m", "\u22124.9 ft and +7 ft");
    expect("-1.5 m", "-4.9 ft");
    expect("12\u00a0m.", "39\u00a0ft.");
    expect("\u22125 \u00b0C", "23 \u00b0F");
}
END_TEST

START_TEST(heads_close_with_their_unit) {
    static const char *const heads[][2] = {
        {"height, m", "height, ft"},
        {"wind, by day, km/h (+ headwind)", "wind, by day, mph (+ headwind)"},
        {"setups, and runs", "setups, and runs"},
        {"Crr", "Crr"}};
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++) {
        struct cw_text said = {0};
        cw_units_say_head(&said, heads[i][0], CW_UNITS_IMPERIAL);
        ck_assert_str_eq(said.bytes, heads[i][1]);
        cw_text_free(&said);
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_units");
    TCase *tests = tcase_create("units");
    tcase_add_test(tests, sentences_have_their_numbers_and_units);
    tcase_add_test(tests, differences_have_no_offset);
    tcase_add_test(tests, ranges_and_intervals_share_a_unit);
    tcase_add_test(tests, signs_and_blanks_stay_as_they_are_set);
    tcase_add_test(tests, heads_close_with_their_unit);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
