#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "base/number.h"

START_TEST(numbers_are_whole_or_refused) {
    double value = -1;
    ck_assert(cw_number_read(" 12.625 ", 8, &value));
    ck_assert_double_eq(value, 12.625);
    ck_assert(cw_number_read("-1.5e-3", 7, &value));
    ck_assert_double_eq(value, -1.5e-3);
    const char *refused[] = {"", " ", "nan", "inf", "0x10", "1,5", "1.2.3", "7 kg"};
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++)
        ck_assert_msg(!cw_number_read(refused[i], strlen(refused[i]), &value), "%s", refused[i]);
}
END_TEST

START_TEST(times_are_utc_seconds) {
    /* 1 000 000 000 s is 2001-09-09T01:46:40Z (POSIX time, common knowledge). */
    const char *same[] = {"2001-09-09T01:46:40Z", "2001-09-09T03:46:40+02:00",
                          "2001-09-09T03:46:40+0200", "2001-09-09T01:46:40",
                          "2001-09-08T20:16:40-05:30"};
    double t = 0;
    for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
        ck_assert_msg(cw_time_read(same[i], strlen(same[i]), &t), "%s", same[i]);
        ck_assert_double_eq(t, 1e9);
    }
    ck_assert(cw_time_read("2001-09-09T01:46:40.1234567Z", 28, &t));
    ck_assert_double_eq_tol(t, 1e9 + 0.1234567, 1e-6);
    ck_assert(!cw_time_read("2001-13-09T01:46:40Z", 20, &t));
    ck_assert(!cw_time_read(" ", 1, &t));
    char text[40];
    cw_time_write(1e9 + 0.25, text, sizeof text);
    ck_assert_str_eq(text, "2001-09-09T01:46:40.250Z");
    cw_time_write(-86400.0 * 365, text, sizeof text);
    ck_assert_str_eq(text, "1969-01-01T00:00:00Z");
}
END_TEST

int main(void) {
    Suite *suite = suite_create("base_number");
    TCase *numbers = tcase_create("numbers and times");
    tcase_add_test(numbers, numbers_are_whole_or_refused);
    tcase_add_test(numbers, times_are_utc_seconds);
    suite_add_tcase(suite, numbers);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
