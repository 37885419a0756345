/* What is said of the winds: of known numbers, the sentences. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "outing/air_log.h"
#include "report/lists.h"
#include "report/winds.h"

static struct cw_sentences said;
static struct cw_analysed of;
static struct cw_analysis analysis;
static struct cw_run runs[3];
static struct cw_fit_run fits[3];
static struct cw_run_among among[3];
static struct cw_setup_result setups[2];
static struct cw_comparison comparison;
static double from_s[1], to_s[1];
static char name[] = "hill/station.csv", battery[] = "battery", rain[] = "rain_mm";
static char *unused[] = {battery, rain};
static struct cw_air_log air_log;

static const double eight_s = 1728806400; /* 2024-10-13T08:00:00Z */

/* Three runs of one outing, ten minutes apart. */
static void begin(void) {
    said = (struct cw_sentences){0};
    from_s[0] = eight_s - 86400;
    to_s[0] = eight_s - 86400 + 3600;
    air_log = (struct cw_air_log){.file = name, .n = 1, .from_s = from_s, .to_s = to_s};
    for (size_t i = 0; i < 3; i++) {
        runs[i] = (struct cw_run){.number = (long)i + 1,
                                  .start_s = eight_s + 600 * (double)i,
                                  .duration_s = 60,
                                  .kept = true,
                                  .noted = {NAN, NAN, NAN},
                                  .logged = {NAN, NAN}};
        fits[i] = (struct cw_fit_run){.run = i};
        among[i] = (struct cw_run_among){.index = i, .wind_noted_ms = NAN, .wind_logged_ms = NAN};
    }
    setups[0] = (struct cw_setup_result){.name = "cape", .rider = ""};
    setups[1] = (struct cw_setup_result){.name = "jacket", .rider = ""};
    comparison = (struct cw_comparison){.setup = 1, .percent = {-9, 7.5, -24, 6, 0}};
    of = (struct cw_analysed){.runs = {.n = 3, .at = runs}, .fit = {.n_runs = 3, .runs = fits}};
    analysis = (struct cw_analysis){.n = 1,
                                    .outings = &of,
                                    .compared = true,
                                    .compare = {.n_setups = 2,
                                                .setups = setups,
                                                .n_runs = 3,
                                                .runs = among,
                                                .n_comparisons = 1,
                                                .comparisons = &comparison,
                                                .wind_sd_ms = 0.42,
                                                .wind_percent_per_ms = 16,
                                                .wind = {.known_ms = 0.09,
                                                         .low_ms = -0.4,
                                                         .high_ms = 0.6,
                                                         .half_percent_without = NAN,
                                                         .half_percent_with_sensor = NAN,
                                                         .half_percent_with_companion = NAN}}};
}

static void end(void) {
    cw_sentences_free(&said);
}

static const char *first(void) {
    const char *sentence = cw_sentences_next(&said, NULL);
    return sentence ? sentence : "";
}

#define ck_holds(text, part) ck_assert_msg(strstr(text, part) != NULL, "%s", text)

START_TEST(what_was_known_and_what_it_is_worth) {
    cw_winds_said(&analysis, &said);
    ck_assert_uint_eq(said.n, 0); /* nothing was */
    analysis.compare.wind.seen[CW_WIND_NOTED].use = CW_WIND_USED;
    analysis.compare.wind.half_percent_without = 24;
    comparison.percent = (struct cw_estimate){-9, 2, -13.6, -4.4, 0};
    cw_winds_said(&analysis, &said);
    ck_assert_str_eq(first(), "wind along the road -1.4 to 2.2 km/h, known from run to run to "
                              "± 0.3 km/h by the notes: jacket against cape is sure to ± 4.6 % by "
                              "that, where without it would be to ± 24 %");
    end();
    analysis.compare.wind.seen[CW_WIND_LOGGED].use = CW_WIND_USED;
    analysis.compare.n_comparisons = 0;
    of.log = &air_log;
    of.log_covers = 3;
    cw_winds_said(&analysis, &said);
    ck_assert_str_eq(first(), "wind along the road -1.4 to 2.2 km/h, known from run to run to "
                              "± 0.3 km/h by the notes and station.csv");
}
END_TEST

START_TEST(what_was_seen_is_not_what_was_stated) {
    struct cw_winds *wind = &analysis.compare.wind;
    of.log = &air_log;
    of.log_covers = 3;
    double values[3] = {0.1, 0.2, 0.3};
    of.outing.wind_ms = (struct cw_notes){.n = 3, .value = values, .uncertainty = 0.1};
    for (int who = 0; who < CW_WIND_SEEN; who++)
        wind->seen[who] = (struct cw_winds_seen){
            .n = 3, .use = CW_WIND_USED, .factor = {0.9, 0.7, 1.1}, .error_factor = {1.6, 1.1, 3}};
    cw_winds_seen_said(&analysis, &said);
    ck_assert_uint_eq(said.n, 0); /* as stated, as far as can be told */
    wind->seen[CW_WIND_LOGGED].factor.high = 0.95;
    cw_winds_seen_said(&analysis, &said);
    ck_assert_str_eq(first(), "station.csv saw 0.90 (95 %: 0.70 to 0.95) of the wind on the road, "
                              "which is accounted for");
    end();
    wind->seen[CW_WIND_LOGGED].factor.high = 1.1;
    wind->seen[CW_WIND_NOTED].error_factor.median = 2.5;
    cw_winds_seen_said(&analysis, &said);
    ck_assert_str_eq(first(), "the notes of the wind are each off by 0.9 km/h (95 %: 0.4 to 1.1 "
                              "km/h), where ± 0.4 km/h was stated");
    end();
    wind->seen[CW_WIND_NOTED].error_factor.median = 1;
    wind->seen[CW_WIND_LOGGED].error_factor.median = 2.2;
    cw_winds_seen_said(&analysis, &said);
    ck_assert_str_eq(first(), "station.csv is, over a run, off by 1.2 km/h (95 %: 0.6 to 1.6 "
                              "km/h), where ± 0.5 km/h is taken for a sensor");
}
END_TEST

START_TEST(what_is_not_used) {
    static const double noted[] = {0.5, -0.1, 0.3}, found[] = {-0.3, 0.2, 0.2};
    for (size_t i = 0; i < 3; i++) {
        among[i].wind_noted_ms = noted[i];
        among[i].wind_along_ms.value = found[i];
    }
    analysis.compare.wind_sd_ms = 0;
    analysis.compare.wind.seen[CW_WIND_NOTED].use = CW_WIND_AGAINST;
    cw_winds_doubts(&analysis, &said);
    ck_assert_str_eq(first(),
                     "the wind of the notes goes against what the runs show (run 1 was "
                     "seen 1.4 km/h above the others, and its drag says 1.8 km/h below the "
                     "others): is + a headwind? It is not used");
    end();
    analysis.compare.wind.seen[CW_WIND_NOTED].use = CW_WIND_UNRELATED;
    cw_winds_doubts(&analysis, &said);
    ck_assert_str_eq(first(), "the notes of the wind tell nothing of the winds that the runs had, "
                              "and are not used");
    ck_assert(!cw_winds_known(&analysis.compare.wind));
}
END_TEST

START_TEST(winds_that_nobody_knew) {
    struct cw_compare *compare = &analysis.compare;
    compare->wind_sd_ms = 0.06;
    cw_winds_doubts(&analysis, &said);
    compare->wind_sd_ms = NAN; /* one run a setup */
    cw_winds_doubts(&analysis, &said);
    ck_assert_uint_eq(said.n, 0);
    compare->wind_sd_ms = 0.42;
    compare->wind.half_percent_with_sensor = 11; /* more than 0.7 of what it is: not worth it */
    cw_winds_doubts(&analysis, &said);
    ck_assert_str_eq(first(), "a windy outing: the wind differs by some 1.5 km/h from run to run, "
                              "which is worth 7 % of a run's CdA: it is in the intervals, but a "
                              "stiller hour tells more than many more runs");
    end();
    compare->wind.half_percent_with_sensor = 6.1;
    compare->wind.half_percent_with_companion = 5.2;
    cw_winds_doubts(&analysis, &said);
    ck_holds(first(), "more runs. With a sensor beside the road jacket against cape would have "
                      "been sure to about ± 6.1 %, with a companion who coasts along to ± 5.2 %, "
                      "in place of ± 15 %");
    end();
    compare->wind.n_companion_runs = 8; /* and so they are known */
    cw_winds_doubts(&analysis, &said);
    ck_assert_uint_eq(said.n, 0);
    compare->wind.known_ms = 0.3;
    compare->wind_percent_per_ms = NAN;
    cw_winds_doubts(&analysis, &said);
    ck_holds(first(),
             "1.5 km/h from run to run and is known to ± 1.1 km/h: it is in the intervals");
}
END_TEST

START_TEST(a_log_that_does_not_cover_the_runs) {
    cw_winds_log_warning(&of, &said); /* none */
    of.log = &air_log;
    of.log_covers = 3;
    cw_winds_log_warning(&of, &said);
    ck_assert_uint_eq(said.n, 0);
    of.log_covers = 2;
    cw_winds_log_warning(&of, &said);
    ck_holds(first(), "station.csv covers 2 of 3 runs");
    end();
    of.log_covers = 0;
    of.log_shift_h = -2;
    cw_winds_log_warning(&of, &said);
    ck_holds(first(), "station.csv covers no run: it would if its times were 2 h earlier; look at "
                      "utc_offset");
    end();
    of.log_shift_h = NAN;
    cw_winds_log_warning(&of, &said);
    ck_holds(first(), "covers no run: it holds 2024-10-12T08:00:00Z to 2024-10-12T09:00:00Z, and "
                      "runs were ridden 2024-10-13T08:00:00Z to 2024-10-13T08:21:00Z");
    end();
    air_log.unused = unused;
    air_log.n_unused = 2;
    cw_winds_defaults(&of, &said);
    ck_assert_str_eq(first(), "station.csv: columns battery and rain_mm are left alone");
}
END_TEST

/* Both side by side, whichever is longer. */
START_TEST(lists_of_another_length) {
    static const struct cw_look look = {.columns = 100, .utf8 = true};
    double values[] = {0.25, NAN};
    size_t order[] = {0, 0, 0, 0};
    struct cw_setup setup = {.name = battery};
    struct cw_text text = {0};
    of.outing.n_setups = 1;
    of.outing.setups = &setup;
    cw_lists_add(&of, &look, &text);
    ck_assert_ptr_null(text.bytes); /* none is given */
    of.outing.wind_ms = (struct cw_notes){.n = 2, .value = values};
    of.outing.order = (struct cw_setup_order){.n = 4, .setup = order};
    of.outing.utc_offset_s = 7200;
    cw_lists_add(&of, &look, &text);
    ck_assert_str_eq(text.bytes, "\n"
                                 "The runs kept, and what [runs] says of them in turn:\n"
                                 " run  start      order    wind_along_ms\n"
                                 "      UTC+02:00\n"
                                 "   1  10:00:00   battery           0.25\n"
                                 "   2  10:10:00   battery              -\n"
                                 "   3  10:20:00   battery\n"
                                 "none             battery\n");
    cw_text_free(&text);
    of.skip_failed = true;
    cw_lists_add(&of, &look, &text);
    ck_assert_ptr_null(text.bytes);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_winds");
    TCase *tests = tcase_create("winds");
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, what_was_known_and_what_it_is_worth);
    tcase_add_test(tests, what_was_seen_is_not_what_was_stated);
    tcase_add_test(tests, what_is_not_used);
    tcase_add_test(tests, winds_that_nobody_knew);
    tcase_add_test(tests, a_log_that_does_not_cover_the_runs);
    tcase_add_test(tests, lists_of_another_length);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
