#include <check.h>
#include <stdlib.h>

#include "report/clock.h"

/* The outing file's word goes before the recording's, also where it is UTC's own. */
START_TEST(the_outing_file_goes_before_the_recording) {
    struct cw_recording recording = {.utc_offset_s = 7200};
    struct cw_analysed of = {.recordings = &recording, .n_recordings = 1};
    char text[CW_CLOCK_TEXT];
    struct cw_clock clock = cw_clock_of(&of);
    ck_assert_str_eq(clock.name, "UTC+02:00");
    of.outing.utc_offset_given = true;
    clock = cw_clock_of(&of);
    ck_assert_str_eq(clock.name, "UTC");
    ck_assert_double_eq(clock.offset_s, 0);
    of.outing.utc_offset_s = -12600;
    clock = cw_clock_of(&of);
    ck_assert_str_eq(clock.name, "UTC-03:30");
    cw_clock_write(&clock, 86400 + 3599.4, text);
    ck_assert_str_eq(text, "1970-01-01 21:29:59");
}
END_TEST

START_TEST(without_either_it_is_utc) {
    struct cw_recording recording = {0};
    const struct cw_analysed of = {.recordings = &recording, .n_recordings = 1}, none = {0};
    ck_assert_str_eq(cw_clock_of(&of).name, "UTC");
    ck_assert_str_eq(cw_clock_of(&none).name, "UTC");
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_clock");
    TCase *tests = tcase_create("clock");
    tcase_add_test(tests, the_outing_file_goes_before_the_recording);
    tcase_add_test(tests, without_either_it_is_utc);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
