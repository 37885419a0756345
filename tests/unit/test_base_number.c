#include <check.h>
#include <math.h>
#include <stdio.h>
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

/* Read the short way or by strtod, a number is the double that a C compiler makes of it. */
START_TEST(numbers_are_the_nearest_doubles) {
    static const struct {
        const char *text;
        double value;
    } there[] = {{"0.1", 0.1},
                 {"-0", -0.0},
                 {"+7.", 7.0},
                 {".3", 0.3},
                 {"1013.27", 1013.27},
                 {"-122.419416", -122.419416},
                 {"999999999999999", 999999999999999.0},
                 {"0.000000000000007", 0.000000000000007},
                 {"9007199254740993", 9007199254740993.0},
                 {"123456.7890123456789", 123456.7890123456789},
                 {"000000000000000000.7", 0.7},
                 {"5e-324", 5e-324}};
    for (size_t i = 0; i < sizeof there / sizeof *there; i++) {
        double value = NAN;
        ck_assert(cw_number_read(there[i].text, strlen(there[i].text), &value));
        ck_assert_msg(!memcmp(&value, &there[i].value, sizeof value), "%s", there[i].text);
    }
    unsigned long state = 12345;
    for (int i = 0; i < 20000; i++) {
        char text[32];
        state = state * 6364136223846793005UL + 1442695040888963407UL;
        long whole = (long)(state >> 33) % 100000;
        state = state * 6364136223846793005UL + 1442695040888963407UL;
        int length = snprintf(text, sizeof text, "%ld.%0*ld", whole - 50000, i % 9 + 1,
                              (long)(state >> 33) % 1000000000);
        double value = NAN;
        ck_assert(cw_number_read(text, (size_t)length, &value));
        ck_assert_msg(value == strtod(text, NULL), "%s", text);
    }
    static const char *const refused[] = {".", "-", "+.", "1..2", "--1", "1-"};
    double value;
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++)
        ck_assert_msg(!cw_number_read(refused[i], strlen(refused[i]), &value), "%s", refused[i]);
}
END_TEST

START_TEST(times_are_utc_seconds) {
    /* 1,000,000,000 s is what GNU date prints for 2001-09-09T01:46:40Z. */
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
    /* ISO 8601 lets the seconds be left out. */
    ck_assert(cw_time_read("2001-09-09T03:46+02:00", 22, &t));
    ck_assert_double_eq(t, 1e9 - 40);
    ck_assert(!cw_time_read("2001-09-09T03:46.5", 18, &t));
    ck_assert(!cw_time_read("2001-09-09T03:46:", 17, &t));
    /* Of a clock 5.5 h ahead, but where the text has a zone. */
    ck_assert(cw_time_read_local("2001-09-09 07:16:40", 19, 19800, &t));
    ck_assert_double_eq(t, 1e9);
    ck_assert(cw_time_read_local("2001-09-09T01:46:40Z", 20, 19800, &t));
    ck_assert_double_eq(t, 1e9);
    char text[40];
    cw_time_write(1e9 + 0.25, text, sizeof text);
    ck_assert_str_eq(text, "2001-09-09T01:46:40.250Z");
    cw_time_write(-86400.0 * 365, text, sizeof text);
    ck_assert_str_eq(text, "1969-01-01T00:00:00Z");
}
END_TEST

/* Which days there are: RFC 3339, section 5.7 (days of a month) and appendix C (leap years). The
 * seconds are what GNU date prints for them. */
START_TEST(only_days_of_the_calendar_are_taken) {
    static const struct {
        const char *text;
        double unix_s;
    } there[] = {{"1904-02-29T00:00:00Z", -2077747200.0},
                 {"2000-02-29T12:34:56Z", 951827696.0},
                 {"2024-02-29T23:59:59Z", 1709251199.0},
                 {"2100-03-01T00:00:00Z", 4107542400.0}};
    double t = 0;
    for (size_t i = 0; i < sizeof there / sizeof *there; i++) {
        ck_assert_msg(cw_time_read(there[i].text, strlen(there[i].text), &t), "%s", there[i].text);
        ck_assert_double_eq(t, there[i].unix_s);
    }
    static const char *const days[] = {"1900-02-29", "2100-02-29", "2023-02-29", "2000-02-30",
                                       "2024-02-30", "2024-04-31", "2024-06-31", "2024-09-31",
                                       "2024-11-31", "2024-01-32", "2024-12-32", "2024-00-10",
                                       "2024-05-00"};
    for (size_t i = 0; i < sizeof days / sizeof *days; i++) {
        char text[32];
        snprintf(text, sizeof text, "%sT00:00:00Z", days[i]);
        ck_assert_msg(!cw_time_read(text, strlen(text), &t), "%s", text);
    }
    for (int month = 1; month <= 12; month++) {
        static const int last[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
        for (int more = 0; more < 2; more++) {
            char text[32];
            snprintf(text, sizeof text, "2023-%02d-%02dT00:00:00Z", month, last[month - 1] + more);
            ck_assert_msg(cw_time_read(text, strlen(text), &t) == !more, "%s", text);
        }
    }
}
END_TEST

/* Of a time every sign counts: none may be another, and it may end only behind a whole part. */
START_TEST(each_sign_of_a_time_is_looked_at) {
    static const char whole[] = "2001-09-09T03:46:40+02:00";
    static const char *const refused[] = {"2001-09-09T24:00:00Z",      "2001-09-09T03:60:00Z",
                                          "2001-09-09T03:46:61Z",      "2001-09-09T03:46:40+24:00",
                                          "2001-09-09T03:46:40+02:60", "2001-09-09T03:46:40Zx"};
    char text[sizeof whole];
    double t;
    for (size_t at = 0; at + 1 < sizeof whole; at++) {
        strcpy(text, whole);
        text[at] = 'x';
        ck_assert_msg(!cw_time_read(text, strlen(text), &t), "%s", text);
    }
    for (size_t n = 0; n < sizeof whole; n++) {
        bool ends = n == 16 || n == 19 || n == 22 || n == 25;
        ck_assert_msg(cw_time_read(whole, n, &t) == ends, "%.*s", (int)n, whole);
    }
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++)
        ck_assert_msg(!cw_time_read(refused[i], strlen(refused[i]), &t), "%s", refused[i]);
    ck_assert(
        cw_time_read("2016-12-31T23:59:60Z", 20, &t)); /* a leap second (IERS, Bulletin C 52) */
}
END_TEST

START_TEST(no_time_is_called_unknown) {
    char text[32];
    static const double none[] = {NAN, INFINITY, -INFINITY, 1e12, -1e12};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        cw_time_write(none[i], text, sizeof text);
        ck_assert_str_eq(text, "unknown");
    }
    cw_time_write(-1, text, sizeof text);
    ck_assert_str_eq(text, "1969-12-31T23:59:59Z");
}
END_TEST

START_TEST(whole_numbers_are_whole_or_refused) {
    static const char *const refused[] = {
        "", " ", "1.5", "12x", "99999999999999999999", "0000000000000000000000000000000001"};
    long number = 0;
    double offset_s;
    ck_assert(cw_integer_read(" -42 ", 5, &number));
    ck_assert_int_eq(number, -42);
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++)
        ck_assert_msg(!cw_integer_read(refused[i], strlen(refused[i]), &number), "%s", refused[i]);
    ck_assert(!cw_offset_read("", 0, &offset_s) && !cw_offset_read("+5", 2, &offset_s));
    ck_assert(cw_offset_read("-0330", 5, &offset_s));
    ck_assert_double_eq(offset_s, -12600);
}
END_TEST

START_TEST(a_zero_byte_is_no_sign_of_a_time) {
    double t = 0;
    ck_assert(!cw_time_read("2001-09-09\0"
                            "01:46:40Z",
                            20, &t));
}
END_TEST

START_TEST(offsets_of_times_are_read) {
    static const struct {
        const char *text;
        double offset_s;
    } rows[] = {{"2001-09-09T03:46:40+02:00", 7200},
                {" 2001-09-09T03:46:40.5-0330 ", -12600},
                {"2001-09-09T03:46+02", 7200},
                {"2001-09-09T03:46:40Z", 0},
                {"2001-09-09T03:46:40", 0},
                {"2001-09-09T03:46:40+2", 0},
                {"2001-09-09", 0},
                {"", 0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_double_eq(cw_time_offset_s(rows[i].text, strlen(rows[i].text)), rows[i].offset_s);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("base_number");
    TCase *numbers = tcase_create("numbers and times");
    tcase_add_test(numbers, numbers_are_whole_or_refused);
    tcase_add_test(numbers, numbers_are_the_nearest_doubles);
    tcase_add_test(numbers, times_are_utc_seconds);
    tcase_add_test(numbers, only_days_of_the_calendar_are_taken);
    tcase_add_test(numbers, each_sign_of_a_time_is_looked_at);
    tcase_add_test(numbers, no_time_is_called_unknown);
    tcase_add_test(numbers, whole_numbers_are_whole_or_refused);
    tcase_add_test(numbers, a_zero_byte_is_no_sign_of_a_time);
    tcase_add_test(numbers, offsets_of_times_are_read);
    suite_add_tcase(suite, numbers);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
