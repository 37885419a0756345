#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "base/utf8.h"
#include "report/answer.h"
#include "report/markup.h"

static const struct cw_estimate none = {NAN, NAN, NAN, NAN, 0};

static void expect(struct cw_comparison comparison, cw_name_adder name, const char *sentence) {
    struct cw_setup_result setups[] = {{.name = "cape"}, {.name = "<jacket>"}};
    comparison.setup = 1;
    struct cw_compare compare = {
        .n_setups = 2, .setups = setups, .n_comparisons = 1, .comparisons = &comparison};
    struct cw_text text = {0};
    cw_answer_add(&compare, 0, name, CW_UNITS_METRIC, &text);
    ck_assert_str_eq(text.bytes, sentence);
    cw_text_free(&text);
}

START_TEST(decided) {
    struct cw_comparison comparison = {.percent = {-4.13, 0.92, -5.94, -2.32, 0},
                                       .verdict = CW_VERDICT_LOWER,
                                       .p_adjusted = 0.0031,
                                       .time_over_road_s = {-1.92, 0.41, -2.72, -1.12, 0}};
    expect(comparison, cw_utf8_add_shown,
           "<jacket>: 4.1 % less drag than cape (2.3 to 5.9 %), p 0.003; over this road, by the "
           "model, 1.9 s "
           "faster (1.1 to 2.7 s)");
    comparison = (struct cw_comparison){.percent = {12.4, 1.3, 9.8, 15.0, 0},
                                        .verdict = CW_VERDICT_HIGHER,
                                        .time_over_road_s = {2.2, 1.4, -0.6, 5.0, 0}};
    expect(
        comparison, cw_markup_add_name,
        "<bdi>&lt;jacket&gt;</bdi>: 12.4 % more drag than <bdi>cape</bdi> (9.8 to 15.0 %), p "
        "below 0.001; over this road, by the model, 2.2 s slower (0.6 s faster to 5.0 s slower)");
}
END_TEST

/* Seconds of the model that the measured ones exclude are not given. */
START_TEST(by_the_clock) {
    struct cw_comparison comparison = {.percent = {-6.2, 0.92, -8.1, -4.3, 0},
                                       .verdict = CW_VERDICT_LOWER,
                                       .p_adjusted = 0.0031,
                                       .time_over_road_s = {-8.3, 2.7, -12.8, -2.1, 0},
                                       .time_by_clock_s = {-2.61, 0.4, -3.62, -1.6, 0}};
    expect(comparison, cw_utf8_add_shown,
           "<jacket>: 6.2 % less drag than cape (4.3 to 8.1 %), p 0.003; by the clock, between the "
           "gates, 2.6 s faster (1.6 to 3.6 s)");
}
END_TEST

/* What a tape said, decided or not. */
START_TEST(by_tape) {
    struct cw_comparison comparison = {.percent = {-6.2, 0.92, -8.1, -4.3, 0},
                                       .verdict = CW_VERDICT_LOWER,
                                       .p_adjusted = 0.0031,
                                       .time_over_road_s = {-1.92, 0.41, -2.72, -1.12, 0},
                                       .runout_m = {16.1, 3, 8, 24, 0},
                                       .runout_taped_m = {2.13, 0.41, 0.83, 3.43, 0}};
    expect(comparison, cw_utf8_add_shown,
           "<jacket>: 6.2 % less drag than cape (4.3 to 8.1 %), p 0.003; over this road, by the "
           "model, 1.9 s faster "
           "(1.1 to 2.7 s); by tape it rolled 2.1 m further (0.8 to 3.4 m)");
    comparison = (struct cw_comparison){.percent = {-20, 90, -85, 130, 0},
                                        .runout_taped_m = {-1.2, 1.3, -4.1, 1.7, 0}};
    expect(comparison, cw_utf8_add_shown,
           "<jacket>: these runs can't tell whether it has more or less drag than cape; they say "
           "next to nothing of it; by tape it rolled 1.2 m less far (4.1 m less far to 1.7 m "
           "further)");
}
END_TEST

/* Said beside the verdict that it bears on, before what that is worth. */
START_TEST(one_after_the_other) {
    struct cw_comparison comparison = {.percent = {-4.13, 0.92, -5.94, -2.32, 0},
                                       .verdict = CW_VERDICT_LOWER,
                                       .p_adjusted = 0.0031,
                                       .hours_later = -0.62,
                                       .time_over_road_s = {-1.92, 0.41, -2.72, -1.12, 0}};
    expect(comparison, cw_utf8_add_shown,
           "<jacket>: 4.1 % less drag than cape (2.3 to 5.9 %), p 0.003; but cape was ridden after "
           "<jacket>, 0.6 h later, and what drifts by 1 % an hour (wind, warmth) looks like a "
           "difference of 0.6 %: take turns, there and back; over this road, by the model, 1.9 s "
           "faster (1.1 to "
           "2.7 s)");
    comparison = (struct cw_comparison){.percent = {-1.04, 1.9, -4.8, 2.7, 0},
                                        .p_adjusted = 0.43,
                                        .hours_later = 0.62,
                                        .smallest_detectable_percent = 1.6,
                                        .runs_to_show_seen = NAN};
    expect(comparison, cw_utf8_add_shown,
           "<jacket>: these runs can't tell whether it has more or less drag than cape (4.8 % less "
           "to 2.7 % more), p 0.43; but <jacket> was ridden after cape, 0.6 h later, and what "
           "drifts by 1 % an hour (wind, warmth) looks like a difference of 0.6 %: take turns, "
           "there and back; they would have shown a difference of 1.6 %");
}
END_TEST

START_TEST(undecided) {
    struct cw_comparison comparison = {.percent = {-1.04, 1.9, -4.8, 2.7, 0},
                                       .verdict = CW_VERDICT_UNDECIDED,
                                       .p_adjusted = 0.43,
                                       .smallest_detectable_percent = 5.6,
                                       .runs_to_show_seen = 117,
                                       .runs_to_show_2_percent = 12,
                                       .time_over_road_s = none};
    expect(comparison, cw_utf8_add_shown,
           "<jacket>: these runs can't tell whether it has more or less drag than cape (4.8 % "
           "less to 2.7 % more), p 0.43; they would have shown a difference of 5.6 %; to show the "
           "1.0 % seen takes about 120 runs of each; to show 2 % takes about 12 runs of each");
    comparison = (struct cw_comparison){.percent = {33.1, 45, -11.6, 100.2, 0},
                                        .smallest_detectable_percent = 57.7,
                                        .p_adjusted = 0.16};
    expect(comparison, cw_utf8_add_shown,
           "<jacket>: these runs can't tell whether it has more or less drag than cape; they say "
           "next to nothing of it");
    comparison = (struct cw_comparison){.percent = none, .smallest_detectable_percent = NAN};
    expect(comparison, cw_utf8_add_shown,
           "<jacket>: these runs can't tell whether it has more or less drag than cape");
    /* Not decided for the adjustment, though its own interval is on one side. */
    comparison = (struct cw_comparison){.percent = {-7.6, 2.9, -14.2, -0.5, 0},
                                        .p_adjusted = 0.11,
                                        .smallest_detectable_percent = NAN,
                                        .time_over_road_s = none};
    expect(comparison, cw_utf8_add_shown,
           "<jacket>: these runs can't tell whether it has more or less drag than cape (0.5 to "
           "14.2 % less), p 0.11");
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_answer");
    TCase *tests = tcase_create("answer");
    tcase_add_test(tests, decided);
    tcase_add_test(tests, by_the_clock);
    tcase_add_test(tests, by_tape);
    tcase_add_test(tests, one_after_the_other);
    tcase_add_test(tests, undecided);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
