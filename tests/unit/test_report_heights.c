#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/heights.h"

static struct cw_setup_result setups[2];
static struct cw_compare compare;
static struct cw_analysed of;
static struct cw_text text;

static void begin(void) {
    setups[0] = (struct cw_setup_result){
        .cda_m2 = {0.36, 0.02, 0.32, 0.40, 0}, .level_told = true, .usual_part = 0.05};
    setups[1] = setups[0];
    compare = (struct cw_compare){.n_setups = 2, .setups = setups, .n_told = 2, .n_comparisons = 1};
    of = (struct cw_analysed){
        .has_file = true,
        .outing = {.elevation = CW_ELEVATION_SATELLITE, .elevation_given = true},
        .heights = {
            .told = true, .kind = CW_ELEVATION_SATELLITE, .n = 9, .apart_m = 3, .drift_m = 2.9}};
}

static void end(void) {
    cw_text_free(&text);
}

static const char *said(const struct cw_compare *of_all) {
    cw_text_free(&text);
    cw_heights_say(&of, of_all, &text);
    return text.bytes;
}

START_TEST(satellites_tell_differences) {
    ck_assert_str_eq(said(NULL), "heights from satellites (passes of the same place drift apart by "
                                 "2.9 m within a minute): a difference between setups is as sure "
                                 "as with a pressure sensor, CdA itself is hardly known");
    ck_assert_ptr_nonnull(strstr(said(&compare), "sensor, CdA itself is known to ± 11 %"));
    setups[1].usual_part = 0.33;
    ck_assert_ptr_nonnull(
        strstr(said(&compare), "± 11 %, leaning on what riders on bicycles have by 33 %"));
}
END_TEST

START_TEST(a_level_that_is_not_told_is_a_range) {
    setups[1].level_told = false;
    setups[1].cda_m2 = (struct cw_estimate){0.4, 0.1, 0.204, 0.596, 0};
    ck_assert_ptr_nonnull(strstr(
        said(&compare), "sensor, CdA itself isn't known from these heights: 0.20 to 0.60 m², "
                        "little more than what riders on bicycles have"));
    of.outing.elevation = CW_ELEVATION_BAROMETRIC;
    of.heights.told = false;
    ck_assert_str_eq(said(&compare), "heights from a pressure sensor, as the outing file says: CdA "
                                     "itself isn't known from these runs: 0.20 to 0.60 m², little "
                                     "more than what riders on bicycles have");
    compare.n_told = 0;
    ck_assert_ptr_nonnull(strstr(said(&compare), "CdA itself isn't known from these runs"));
    ck_assert_ptr_null(strstr(said(&compare), "m²"));
}
END_TEST

START_TEST(wide_or_borrowed_levels_are_not_told) {
    ck_assert(cw_level_is_told(&setups[0]));
    setups[0].usual_part = 0.6;
    ck_assert(!cw_level_is_told(&setups[0]));
    setups[0].usual_part = 0.1;
    setups[0].cda_m2 = (struct cw_estimate){0.38, 0.2, 0.15, 0.98, 0};
    ck_assert(!cw_level_is_told(&setups[0]));
}
END_TEST

/* All coasts of an ordinary ride as one setup may tell less than the best of them. */
START_TEST(single_coasts_may_tell_what_all_do_not) {
    struct cw_fit_run runs[2] = {
        {.together_identifiable = true, .together_cda_m2 = {0.35, 0.27, -0.19, 0.88, 0}},
        {.together_identifiable = true, .together_cda_m2 = {0.25, 0.04, 0.17, 0.33, 0}}};
    of.fit.n_runs = 1;
    of.fit.runs = runs;
    compare.n_comparisons = compare.n_told = 0;
    ck_assert_ptr_nonnull(
        strstr(said(&compare), "minute): CdA itself isn't known from these heights"));
    of.fit.n_runs = 2;
    ck_assert_ptr_nonnull(strstr(said(&compare), "minute): CdA is told by single coasts only"));
}
END_TEST

START_TEST(what_nothing_tells_is_taken_for_pressure) {
    of.outing.elevation = CW_ELEVATION_BAROMETRIC;
    of.outing.elevation_given = of.heights.told = false;
    of.heights.drift_m = NAN;
    ck_assert_str_eq(said(NULL), "where the heights come from is not told (too little was passed "
                                 "twice): they are taken to be from a pressure sensor; differences "
                                 "between setups can be told, and CdA itself");
    of.outing.elevation = CW_ELEVATION_LEVEL;
    of.outing.elevation_given = true;
    ck_assert_str_eq(said(NULL),
                     "a level road, as the outing file says (heights are not looked at): "
                     "differences between setups can be told, and CdA itself");
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_heights");
    TCase *tests = tcase_create("heights");
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, satellites_tell_differences);
    tcase_add_test(tests, a_level_that_is_not_told_is_a_range);
    tcase_add_test(tests, wide_or_borrowed_levels_are_not_told);
    tcase_add_test(tests, single_coasts_may_tell_what_all_do_not);
    tcase_add_test(tests, what_nothing_tells_is_taken_for_pressure);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
