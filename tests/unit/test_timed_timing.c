#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "timed/timing.h"

/* h as printed in the statistical-accuracy table of UN R83 / Directive 70/220/EEC, Annex III, and
 * UN GTR 15, Annex 4: n from 4 to 15, read in a public manual that quotes the directive. Mostly
 * Student's t to one decimal, at 7 and 15 the decimal above. That copy prints 2.2
 * for n = 10, which its own row h/sqrt(n) = 0.73 contradicts: 2.3 stands here. The quantiles are
 * computed with 25 digits. */
static const struct {
    size_t n;
    double printed, quantile;
} standards[] = {{4, 3.2, 3.182446305284},  {5, 2.8, 2.776445105198},  {6, 2.6, 2.570581835636},
                 {7, 2.5, 2.446911851145},  {8, 2.4, 2.364624251593},  {9, 2.3, 2.306004135204},
                 {10, 2.3, 2.262157162798}, {11, 2.2, 2.228138851986}, {12, 2.2, 2.200985160092},
                 {13, 2.2, 2.178812829667}, {14, 2.2, 2.160368656463}, {15, 2.2, 2.144786687918}};
#define TABLE_ERROR 0.06

START_TEST(the_standards_table) {
    for (size_t i = 0; i < sizeof standards / sizeof *standards; i++) {
        double h = cw_timing_factor(standards[i].n);
        ck_assert_double_eq_tol(h, standards[i].quantile, 1e-11);
        ck_assert_double_eq_tol(h, standards[i].printed, TABLE_ERROR);
    }
}
END_TEST

/* With two and with one degree of freedom Student's t is known in closed form: its distribution is
 * (1 + t/sqrt(2 + t^2))/2, and 1/2 + atan(t)/pi. */
START_TEST(few_runs_by_closed_form) {
    ck_assert_double_eq_tol(cw_timing_factor(3), 0.95 * sqrt(2 / (1 - 0.95 * 0.95)), 1e-11);
    ck_assert_double_eq_tol(cw_timing_factor(2), tan(0.475 * acos(-1)), 1e-10);
}
END_TEST

START_TEST(the_misprint_at_ten) {
    ck_assert_double_gt(fabs(cw_timing_factor(10) - 2.2), TABLE_ERROR);
    ck_assert_double_eq(round(cw_timing_factor(10) / sqrt(10) * 100) / 100, 0.72);
    ck_assert_double_eq(round(2.3 / sqrt(10) * 100) / 100, 0.73);
    ck_assert_double_eq(round(2.2 / sqrt(10) * 100) / 100, 0.70);
}
END_TEST

START_TEST(four_pairs) {
    const double there[] = {40.2, 39.6, 41.1, 40.5}, back[] = {37.9, 38.4, 37.1, 38.0};
    const double wanted[] = {39.0161331626, 38.9907692308, 38.9976982097, 39.2101910828};
    double pair[4];
    for (size_t i = 0; i < 4; i++) {
        pair[i] = cw_timing_pair(there[i], back[i]);
        ck_assert_double_eq_tol(pair[i], wanted[i], 1e-9);
    }
    struct cw_timing timing;
    ck_assert_int_eq(cw_timing_mean(4, pair, &timing, NULL), CW_OK);
    ck_assert_double_eq_tol(timing.mean_s, 39.0534872401, 1e-9);
    ck_assert_double_lt(timing.mean_s, 39.0536979215 - 1e-4); /* the arithmetic mean */
    ck_assert_double_eq_tol(timing.sd_s, 0.1048767309, 1e-9);
    ck_assert_double_eq_tol(timing.precision * 3.2 / cw_timing_factor(4), 0.0042967423, 1e-9);
}
END_TEST

START_TEST(limits) {
    struct cw_timing timing;
    struct cw_error error;
    const double equal[] = {40.1, 40.1, 40.1}, wrong[] = {40.1, 0}, missing[] = {40.1, NAN};
    ck_assert_int_eq(cw_timing_mean(3, equal, &timing, &error), CW_OK);
    ck_assert_double_lt(timing.precision, 1e-14);
    ck_assert_int_eq(cw_timing_mean(1, equal, &timing, &error), CW_E_DATA);
    ck_assert(isnan(timing.mean_s));
    ck_assert_int_eq(cw_timing_mean(2, wrong, &timing, &error), CW_E_ARGUMENT);
    ck_assert_str_eq(error.message, "time 2 is not above 0 seconds");
    ck_assert_int_eq(cw_timing_mean(2, missing, &timing, &error), CW_E_ARGUMENT);
    ck_assert(isnan(cw_timing_pair(40, 0)));
    ck_assert(isnan(cw_timing_factor(1)));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("compare_timing");
    TCase *timing = tcase_create("timing");
    tcase_add_test(timing, the_standards_table);
    tcase_add_test(timing, few_runs_by_closed_form);
    tcase_add_test(timing, the_misprint_at_ten);
    tcase_add_test(timing, four_pairs);
    tcase_add_test(timing, limits);
    suite_add_tcase(suite, timing);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
