#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/timed_facts.h"
#include "report/timed_json.h"
#include "report/timed_report.h"

#define NONE                                                                                       \
    { NAN, NAN, NAN, NAN, 0 }
#define AT(time, speed, error, shift)                                                              \
    {                                                                                              \
        .time_s = time, .speed_ms = speed, .standard_error_s = error, .shift_s = shift,            \
        .interval_s = 0.003                                                                        \
    }

static char cape[] = "cape", no_cape[] = "no, cape";
static struct cw_setup names[] = {{.name = cape}, {.name = no_cape}};
static struct cw_run found[] = {{.number = 1}, {.number = 2}, {.number = 4}};
static struct cw_timed_run run_list[] = {
    {.run = 0,
     .setup = 0,
     .at = {AT(1e9, 6.25, 0.2, 0.18), AT(1e9 + 31.125, 11, 0.1, 0.09),
            AT(1e9 + 61.25, 13.5, 0.09, 0.08)},
     .time_s = {61.25, 0.125, 60.99, 61.51, 0},
     .entry_speed_ms = {6.25, 0.0625, 6.12, 6.38, 0},
     .exit_speed_ms = {13.5, 0.05, 13.4, 13.6, 0},
     .time_watched_s = NONE,
     .runout_taped_m = NONE,
     .runout_m = {812.25, 1.5, 808.5, 815.75, 0}},
    {.run = 1,
     .setup = 1,
     .at = {AT(1e9 + 600.5, 6.5, 0.2, 0.18), AT(1e9 + 631, 11, 0.1, 0.09), AT(NAN, NAN, NAN, NAN)},
     .time_s = NONE,
     .entry_speed_ms = {6.5, 0.0625, 6.37, 6.63, 0},
     .exit_speed_ms = NONE,
     .time_watched_s = NONE,
     .runout_taped_m = NONE,
     .runout_m = NONE},
    {.run = 2,
     .setup = CW_NO_SETUP,
     .at = {AT(1e9 + 900, 6.5, 0.2, 0.18), AT(1e9 + 930, 11, 0.1, 0.09),
            AT(1e9 + 959.5, 13.75, 0.09, 0.08)},
     .time_s = {59.5, 0.125, 59.24, 59.76, 0},
     .entry_speed_ms = {6.5, 0.0625, 6.37, 6.63, 0},
     .exit_speed_ms = {13.75, 0.05, 13.65, 13.85, 0},
     .time_watched_s = NONE,
     .runout_taped_m = NONE,
     .runout_m = NONE}};
static struct cw_timed_setup setup_list[] = {
    {.setup = 0,
     .runs = 4,
     .of = {[CW_TIMED_TIME] = {4, 61.375, 0.5, 0.0129, 0.125},
            [CW_TIMED_RUNOUT] = {1, 812.25, NAN, NAN, 1.5},
            [CW_TIMED_ENTRY_SPEED] = {4, 6.25, 0.25, NAN, 0.06}}},
    {.setup = 1,
     .runs = 4,
     .of = {[CW_TIMED_TIME] = {3, 60.125, 0.625, 0.0258, 0.125},
            [CW_TIMED_RUNOUT] = {0, NAN, NAN, NAN, NAN},
            [CW_TIMED_ENTRY_SPEED] = {4, 6.5, 0.125, NAN, 0.06}}}};
static struct cw_timed_comparison comparison_list[] = {
    {.setup = 1,
     .reference = 0,
     .of = {[CW_TIMED_TIME_WATCHED] = {.difference = NONE, .percent = NAN, .p_value = NAN},
            [CW_TIMED_TIME] = {.n = {3, 4},
                               .test = CW_TIMED_WELCH,
                               .difference = {-1.25, 0.4375, -2.5, -0.0625, 0},
                               .percent = -2.0366,
                               .df = 4.1,
                               .p_value = 0.0437},
            [CW_TIMED_RUNOUT_TAPED] = {.difference = NONE, .percent = NAN, .p_value = NAN},
            [CW_TIMED_RUNOUT] =
                {.n = {0, 1}, .difference = NONE, .percent = NAN, .df = NAN, .p_value = NAN},
            [CW_TIMED_ENTRY_SPEED] = {.n = {4, 4},
                                      .test = CW_TIMED_PAIRED,
                                      .difference = {0.25, 0.125, -0.125, 0.625, 0},
                                      .percent = 4,
                                      .df = 3,
                                      .p_value = 0.125,
                                      .inside_scatter = true}},
     .time_by_entry_s = {-0.5, 0.25, -1.25, 0.25, 0}}};
static char place[] = "Mill lane";
static struct cw_analysed of = {.outing = {.name = place, .n_setups = 2, .setups = names},
                                .runs = {.n = 3, .at = found}};
static struct cw_text out;
static struct cw_error error;

static void begin(void) {
    of.timed = (struct cw_timed){.length_m = 963,
                                 .n_gates = 3,
                                 .gates_m = {25, 480, 935},
                                 .gates_chosen = true,
                                 .shift_sd_m = 1.125,
                                 .n = 3,
                                 .runs = run_list,
                                 .n_setups = 2,
                                 .setups = setup_list,
                                 .n_comparisons = 1,
                                 .comparisons = comparison_list,
                                 .entry = {.n = 7,
                                           .df = 4,
                                           .slope_sms = {-1.8, 0.9, -4.5, 0.9, 0},
                                           .correlation = -0.71,
                                           .p_value = 0.115}};
    cw_warning_add(&of.timed.warnings, CW_TIMED_WARNING_MISSED, 0, "run 2 does not cross the gate");
}

static void end(void) {
    cw_text_free(&out);
}

START_TEST(the_table_is_for_people) {
    const struct cw_look look = {.columns = 80};
    ck_assert_int_eq(cw_report_timed_table(&of, true, &look, &out, &error), CW_OK);
    ck_assert_str_eq(
        out.bytes,
        "As measured, with no model: between the gates at 25 and 935 m of 963 m of road\n"
        "run  setup     at 480 m   time    +-  entry    +-  exit  run-out   +-\n"
        "                      s      s     s   km/h  km/h  km/h        m    m\n"
        "  1  cape         31.12  61.25  0.12   22.5   0.2  48.6    812.2  1.5\n"
        "  2  no, cape     30.50      -     -   23.4   0.2     -        -    -\n"
        "  4  -            30.00  59.50  0.12   23.4   0.2  49.5        -    -\n"
        "+- is the timing's own standard error. A run's place on the road is known to\n"
        "1.1 m, the same at all its gates: between two passed at one speed that cancels\n"
        "\n"
        "By setup: means and the scatter (sd) from run to run; precision is the\n"
        "coast-down standards' of the mean time\n"
        "setup     runs   time    sd  precision  entry    sd  run-out  sd\n"
        "                    s     s          %   km/h  km/h        m   m\n"
        "cape         4  61.38  0.50        1.3   22.5   0.9    812.2   -\n"
        "no, cape     3  60.12  0.62        2.6   23.4   0.5        -   -\n"
        "\n"
        "Differences\n"
        "setup     against  as measured  difference  95 % from     to      %  p alone\n"
        "no, cape  cape     time, s           -1.25      -2.50  -0.06  -2.04    0.044\n"
        "no, cape  cape     entry, km/h        0.90      -0.45   2.25   4.00    0.125\n"
        "\n"
        "setup     against  as measured  test    judged\n"
        "no, cape  cape     time, s      Welch   beyond scatter\n"
        "no, cape  cape     entry, km/h  paired  inside scatter\n"
        "- no, cape came to the first gate 0.90 km/h faster than cape, which alone makes\n"
        "  at most -0.50 s; drag leaves less of it\n"
        "- within setups, a run that came 1 km/h faster took 0.50 s less (95 %: -1.25 to\n"
        "  0.25 s, correlation -0.71)\n"
        "- run 2 does not cross the gate\n");
}
END_TEST

START_TEST(columns_and_parts_that_say_nothing_are_left_out) {
    const struct cw_look look = {.columns = 80, .utf8 = true};
    of.timed.n = 1;
    of.timed.n_setups = of.timed.n_comparisons = 0;
    of.timed.n_gates = 2;
    of.timed.runs = &run_list[2];
    of.timed.shift_sd_m = NAN;
    of.timed.entry.correlation = NAN;
    of.timed.warnings.n = 0;
    ck_assert_int_eq(cw_report_timed_table(&of, true, &look, &out, &error), CW_OK);
    ck_assert_str_eq(
        out.bytes,
        "As measured, with no model: between the gates at 25 and 480 m of 963 m of road\n"
        "run  setup   time     ±  entry     ±  exit\n"
        "                s     s   km/h  km/h  km/h\n"
        "  4  -      59.50  0.12   23.4   0.2  49.5\n");
}
END_TEST

/* A tape and a stopwatch before the recorder, a doubted value marked, and what to do about it. */
START_TEST(what_was_noted_comes_first) {
    const struct cw_look look = {.columns = 80, .utf8 = true};
    struct cw_timed_run noted[3];
    struct cw_timed_doubt doubts[] = {{.at = 2,
                                       .quantity = CW_TIMED_RUNOUT_TAPED,
                                       .noted = 13.9,
                                       .recorded = 812.25,
                                       .others_off = -780.25,
                                       .others_sd = 0.75,
                                       .swapped = 31.9},
                                      {.at = 2,
                                       .quantity = CW_TIMED_TIME_WATCHED,
                                       .noted = 88,
                                       .recorded = 59.5,
                                       .others_off = 3.25,
                                       .others_sd = 0.25,
                                       .swapped = NAN}};
    memcpy(noted, run_list, sizeof noted);
    noted[0].time_watched_s = (struct cw_estimate){64.5, 0.25, 64, 65, 0};
    noted[1].runout_taped_m = (struct cw_estimate){33.25, 0.125, 33, 33.5, 0};
    of.timed.runs = noted;
    of.timed.n_doubts = 2;
    of.timed.doubts = doubts;
    of.timed.from_mark = true;
    of.timed.n_setups = of.timed.n_comparisons = 0;
    of.timed.entry.correlation = NAN;
    of.timed.warnings.n = 0;
    of.outing.time_s.uncertainty = 0.25;
    of.outing.runout_m.uncertainty = 0.125;
    ck_assert_int_eq(cw_report_timed_table(&of, true, &look, &out, &error), CW_OK);
    ck_assert_str_eq(
        out.bytes,
        "As measured, with no model: between the gates at 25 and 935 m of 963 m of road\n"
        "run  setup     stopwatch  at 480 m   time     ±  entry     ±  exit   tape\n"
        "                       s         s      s     s   km/h  km/h  km/h      m\n"
        "  1  cape          64.50     31.12  61.25  0.12   22.5   0.2  48.6      -\n"
        "  2  no, cape          -     30.50      -     -   23.4   0.2     -   33.2\n"
        "  4  -            88.00?     30.00  59.50  0.12   23.4   0.2  49.5  13.9?\n"
        "\n"
        "run  run-out    ±\n"
        "           m    m\n"
        "  1    812.2  1.5\n"
        "  2        -    -\n"
        "  4        -    -\n"
        "± is the timing's own standard error. A run's place from the mark is known to\n"
        "1.1 m, the same at all its gates: between two passed at one speed that cancels\n"
        "stopwatch: the time by stopwatch as noted, between marks of its own, so that\n"
        "only differences between runs are like the recorder's; said to be known to\n"
        "0.25 s\n"
        "tape: the run-out by tape as noted, from a mark of its own, so that only\n"
        "differences between runs are like the recorder's; said to be known to 0.125 m\n"
        "?: the recorder disagrees; left out until it is confirmed\n");
    struct cw_sentences said = {0};
    cw_timed_doubts(&of, &said);
    const char *sentence = cw_sentences_next(&said, NULL);
    ck_assert_str_eq(sentence,
                     "run 4: 13.9 m by tape, 812.2 m by the recorder, which would be 32.0 m ± 0.8 "
                     "by tape as the other runs have it: a mark mistaken, or two digits swapped "
                     "(31.9)? It is left out: correct it in runout_m, put - for it, or give more "
                     "runout_uncertainty_m if it is right");
    sentence = cw_sentences_next(&said, sentence);
    ck_assert_str_eq(sentence,
                     "run 4: 88 s by stopwatch, 59.50 s by the recorder, which would be 62.75 s ± "
                     "0.25 by stopwatch as the other runs have it: a mark mistaken, or a digit? It "
                     "is left out: correct it in time_s, put - for it, or give more "
                     "time_uncertainty_s if it is right");
    ck_assert_ptr_null(cw_sentences_next(&said, sentence));
    cw_sentences_free(&said);

    struct cw_timed_doubt turned[] = {doubts[0], doubts[0]};
    turned[0].turned = turned[1].turned = true;
    of.timed.doubts = turned;
    cw_timed_doubts(&of, &said);
    ck_assert_uint_eq(said.n, 1); /* one sentence is of all */
    ck_assert_str_eq(cw_sentences_next(&said, NULL),
                     "runout_m goes down where the recorder's run-outs go up: is + further along? "
                     "All of it is left out until it is");
    cw_sentences_free(&said);
    of.timed.doubts = doubts;

    bool failed = false;
    struct cw_json document = {cw_timed_json(&of, &failed), &failed};
    ck_assert(!failed && json_is_true(json_object_get(document.value, "places_from_mark")));
    json_t *run = json_array_get(json_object_get(document.value, "runs"), 0);
    ck_assert_double_eq(
        json_real_value(json_object_get(json_object_get(run, "time_watched_s"), "value")), 64.5);
    ck_assert(json_is_null(json_object_get(run, "runout_taped_m")));
    json_t *doubt = json_array_get(json_object_get(document.value, "noted_doubted"), 1);
    ck_assert_int_eq(json_integer_value(json_object_get(doubt, "number")), 4);
    ck_assert_str_eq(json_string_value(json_object_get(doubt, "of")), "time_watched_s");
    ck_assert_double_eq(json_real_value(json_object_get(doubt, "noted")), 88);
    ck_assert(json_is_null(json_object_get(doubt, "digits_swapped")));
    json_decref(document.value);
}
END_TEST

START_TEST(the_json_has_all_of_it) {
    bool failed = false;
    struct cw_json document = {cw_timed_json(&of, &failed), &failed};
    ck_assert(!failed);
    json_t *run = json_array_get(json_object_get(document.value, "runs"), 0);
    ck_assert_int_eq(json_integer_value(json_object_get(run, "number")), 1);
    json_t *time = json_object_get(run, "time_s");
    ck_assert_double_eq(json_real_value(json_object_get(time, "value")), 61.25);
    ck_assert_double_eq(json_real_value(json_object_get(time, "standard_error")), 0.125);
    json_t *gate = json_array_get(json_object_get(run, "gates"), 1);
    ck_assert_double_eq(json_real_value(json_object_get(gate, "gate_m")), 480);
    ck_assert_double_eq(json_real_value(json_object_get(gate, "after_first_s")), 31.125);
    ck_assert_double_eq(json_real_value(json_object_get(gate, "shift_s")), 0.09);
    ck_assert_str_eq(json_string_value(json_object_get(gate, "time")), "2001-09-09T01:47:11.125Z");

    run = json_array_get(json_object_get(document.value, "runs"), 1);
    ck_assert(json_is_null(json_object_get(run, "time_s")));
    ck_assert(json_is_null(json_object_get(run, "runout_m")));
    run = json_array_get(json_object_get(document.value, "runs"), 2);
    ck_assert(json_is_null(json_object_get(run, "setup")));

    json_t *setup = json_array_get(json_object_get(document.value, "setups"), 1);
    ck_assert_str_eq(json_string_value(json_object_get(setup, "name")), "no, cape");
    ck_assert(json_is_null(json_object_get(setup, "runout_m")));
    time = json_object_get(setup, "time_s");
    ck_assert_int_eq(json_integer_value(json_object_get(time, "runs")), 3);
    ck_assert_double_eq(json_real_value(json_object_get(time, "sd")), 0.625);
    ck_assert_double_eq(json_real_value(json_object_get(time, "precision")), 0.0258);

    json_t *comparison = json_array_get(json_object_get(document.value, "comparisons"), 0);
    ck_assert_str_eq(json_string_value(json_object_get(comparison, "reference")), "cape");
    ck_assert(json_is_null(json_object_get(comparison, "runout_m")));
    time = json_object_get(comparison, "time_s");
    ck_assert_str_eq(json_string_value(json_object_get(time, "test")), "Welch");
    ck_assert(json_is_false(json_object_get(time, "inside_scatter")));
    ck_assert_double_eq(
        json_real_value(json_object_get(json_object_get(time, "difference"), "low")), -2.5);
    ck_assert(json_is_true(
        json_object_get(json_object_get(comparison, "entry_speed_ms"), "inside_scatter")));
    json_t *most = json_object_get(comparison, "time_by_entry_at_most_s");
    ck_assert_double_eq(json_real_value(json_object_get(most, "value")), -0.5);
    ck_assert_double_eq(json_real_value(json_object_get(
                            json_object_get(document.value, "time_on_entry_speed"), "correlation")),
                        -0.71);
    ck_assert_uint_eq(json_array_size(json_object_get(document.value, "warnings")), 1);
    ck_assert_int_eq(cw_json_finish(document, &out, &error), CW_OK);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_timed");
    TCase *tests = tcase_create("timed");
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, the_table_is_for_people);
    tcase_add_test(tests, columns_and_parts_that_say_nothing_are_left_out);
    tcase_add_test(tests, what_was_noted_comes_first);
    tcase_add_test(tests, the_json_has_all_of_it);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
