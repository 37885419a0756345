#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/estimates.h"
#include "report/interval.h"

static struct cw_text text;

static void end(void) {
    cw_text_free(&text);
}

static const char *drawn(struct cw_scale scale, struct cw_estimate estimate, size_t width,
                         bool utf8) {
    cw_text_free(&text);
    text = (struct cw_text){0};
    cw_text_add(&text, "%s", "");
    cw_interval_add(&scale, estimate, width, utf8, &text);
    ck_assert(!text.failed);
    return text.bytes;
}

START_TEST(digits_end_with_the_second_of_the_error) {
    ck_assert_int_eq(cw_error_decimals(0.0047), 4);
    ck_assert_int_eq(cw_error_decimals(0.047), 3);
    ck_assert_int_eq(cw_error_decimals(0.1), 2);
    ck_assert_int_eq(cw_error_decimals(0.00067), 5);
    ck_assert_int_eq(cw_error_decimals(3.4), 1);
    ck_assert_int_eq(cw_error_decimals(34), 0);
    ck_assert_int_eq(cw_error_decimals(3400), 0);
    ck_assert_int_eq(cw_error_decimals(1e-12), 6);
    ck_assert_int_eq(cw_error_decimals(0), 3);
    ck_assert_int_eq(cw_error_decimals(NAN), 3);
}
END_TEST

START_TEST(the_scale_has_round_ends_that_take_all_in) {
    struct cw_estimate estimates[] = {
        {0.42, 0.01, 0.3961, 0.44, 0}, {NAN, NAN, NAN, NAN, 0}, {0.47, 0.01, 0.45, 0.4932, 0}};
    struct cw_scale scale = cw_scale_make(estimates, 3);
    ck_assert_double_eq_tol(scale.low, 0.39, 1e-12);
    ck_assert_double_eq_tol(scale.high, 0.50, 1e-12);
    ck_assert_int_eq(scale.decimals, 2);
    cw_scale_add(&scale, 20, &text);
    ck_assert_str_eq(text.bytes, "0.39            0.50");
}
END_TEST

START_TEST(no_interval_makes_no_scale) {
    struct cw_estimate none = {NAN, NAN, NAN, NAN, 0},
                       endless = {1, INFINITY, -INFINITY, INFINITY, 0};
    ck_assert(isnan(cw_scale_make(&none, 1).low));
    ck_assert(isnan(cw_scale_make(&endless, 1).high));
    ck_assert(isnan(cw_scale_make(NULL, 0).low));
    ck_assert_str_eq(drawn(cw_scale_make(&none, 1), none, 30, false), "");
}
END_TEST

START_TEST(a_single_point_still_has_a_scale) {
    struct cw_estimate point = {0.25, 0, 0.25, 0.25, 0};
    struct cw_scale scale = cw_scale_make(&point, 1);
    ck_assert(scale.low <= 0.25 && scale.high >= 0.25 && scale.high > scale.low);
    ck_assert_ptr_nonnull(strchr(drawn(scale, point, 11, false), 'o'));
}
END_TEST

START_TEST(every_scale_holds_its_intervals) {
    for (int i = -12; i <= 12; i++) {
        double size = pow(10, i / 3.0);
        struct cw_estimate estimate = {0.7 * size, size, -1.37 * size, 2.77 * size, 0};
        struct cw_scale scale = cw_scale_make(&estimate, 1);
        ck_assert(scale.low <= estimate.low && scale.high >= estimate.high);
        /* Not much wider than what it holds. */
        ck_assert(scale.high - scale.low < 1.5 * (estimate.high - estimate.low));
    }
}
END_TEST

START_TEST(the_line_stands_where_the_numbers_are) {
    struct cw_scale scale = {0, 20, 0};
    ck_assert_str_eq(drawn(scale, (struct cw_estimate){10, 2, 4, 16, 0}, 21, false),
                     "    |-----o-----|");
    ck_assert_str_eq(drawn(scale, (struct cw_estimate){10, 2, 4, 16, 0}, 21, true),
                     "    ├─────●─────┤");
    ck_assert_str_eq(drawn(scale, (struct cw_estimate){0, 0.1, -0.1, 0.1, 0}, 21, false), "o");
    ck_assert_str_eq(drawn(scale, (struct cw_estimate){20, 1, 18, 22, 0}, 21, false),
                     "                  |-o");
    ck_assert_str_eq(drawn(scale, (struct cw_estimate){10, 2, 4, 16, 0}, 0, false), "");
}
END_TEST

START_TEST(what_noise_alone_leaves_open_is_thick) {
    struct cw_scale scale = {0, 20, 0};
    struct cw_estimate estimate = {10, 4, 2, 18, 2}, lopsided = {10, 4, 6, 18, 2};
    ck_assert_str_eq(drawn(scale, estimate, 21, false), "  |---====o====---|");
    ck_assert_str_eq(drawn(scale, estimate, 21, true), "  ├───━━━━●━━━━───┤");
    ck_assert_str_eq(drawn(scale, lopsided, 21, false), "      |-==o====---|");
    struct cw_estimate noise = cw_estimate_of_noise(lopsided);
    ck_assert_double_eq_tol(noise.low, 8, 1e-12);
    ck_assert_double_eq_tol(noise.high, 14, 1e-12);
    ck_assert_double_eq_tol(noise.standard_error, 2, 1e-12);
    /* What is known beforehand can make all of it less than the noise alone. */
    lopsided.noise_standard_error = 5;
    ck_assert_double_eq_tol(cw_estimate_of_noise(lopsided).low, 6, 1e-12);
    ck_assert_double_eq_tol(cw_estimate_of_noise(lopsided).high, 18, 1e-12);
    estimate.noise_standard_error = 0; /* not parted */
    ck_assert(isnan(cw_estimate_of_noise(estimate).low));
    ck_assert(isnan(cw_estimate_of_noise(estimate).high));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_interval");
    TCase *tests = tcase_create("interval");
    tcase_add_checked_fixture(tests, NULL, end);
    tcase_add_test(tests, digits_end_with_the_second_of_the_error);
    tcase_add_test(tests, the_scale_has_round_ends_that_take_all_in);
    tcase_add_test(tests, no_interval_makes_no_scale);
    tcase_add_test(tests, a_single_point_still_has_a_scale);
    tcase_add_test(tests, every_scale_holds_its_intervals);
    tcase_add_test(tests, the_line_stands_where_the_numbers_are);
    tcase_add_test(tests, what_noise_alone_leaves_open_is_thick);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
