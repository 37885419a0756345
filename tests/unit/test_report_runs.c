#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/runs_report.h"

static const struct cw_look look = {.columns = 100, .utf8 = true};

static double times[] = {1e9, 1e9 + 40, 1e9 + 7261.5};
static int lines[] = {12, 40, 977};
static struct cw_recording recordings[2];
static struct cw_run runs_at[] = {{.recording = 0,
                                   .first = 1,
                                   .last = 2,
                                   .noted = {-0.25, NAN, NAN},
                                   .logged = {NAN, NAN},
                                   .number = 1,
                                   .start_s = 1e9 + 40.25,
                                   .duration_s = 61.5,
                                   .distance_m = 812.25,
                                   .drop_m = 33.375,
                                   .mean_slope = -0.041,
                                   .entry_speed_ms = 3.125,
                                   .top_speed_ms = 15.5,
                                   .exit_speed_ms = 14.75,
                                   .ends = CW_END_BRAKE,
                                   .kept = true,
                                   .road = 0,
                                   .setup = 0},
                                  {.recording = 1,
                                   .noted = {NAN, NAN, NAN},
                                   .logged = {NAN, NAN},
                                   .first = 0,
                                   .last = 2,
                                   .number = 2,
                                   .start_s = 1e9 + 3000,
                                   .duration_s = 9,
                                   .distance_m = 90.5,
                                   .drop_m = NAN,
                                   .mean_slope = NAN,
                                   .entry_speed_ms = 8,
                                   .top_speed_ms = 9,
                                   .exit_speed_ms = 2.5,
                                   .ends = CW_END_STOP,
                                   .kept = false,
                                   .reasons = CW_REASON_SHORT | CW_REASON_SKIPPED,
                                   .by_energy = true,
                                   .road = CW_ROAD_NONE,
                                   .setup = CW_NO_SETUP}};
static struct cw_setup setup = {.name = "cape"};
static struct cw_analysed of = {.recordings = recordings,
                                .outing = {.n_setups = 1, .setups = &setup},
                                .runs = {.n = 2, .at = runs_at, .n_roads = 1}};
static struct cw_text out;
static struct cw_error error;

static void begin(void) {
    recordings[0] = (struct cw_recording){.file = "one, two.gpx",
                                          .format = CW_FORMAT_GPX,
                                          .has_elevation = true,
                                          .has_speed = true,
                                          .samples = {.n = 3, .time_s = times, .line = lines}};
    recordings[1] = recordings[0];
    recordings[1].file = "b.tcx";
    recordings[1].format = CW_FORMAT_TCX;
    recordings[1].has_power = true;
    cw_warning_add(&recordings[0].warnings, 3, 77, "time goes backwards");
    of.n_recordings = 2;
    of.has_file = true;
}

static void end(void) {
    cw_text_free(&out);
}

START_TEST(the_table_is_for_people) {
    ck_assert_int_eq(cw_report_runs_table(&of, false, &look, &out, &error), CW_OK);
    ck_assert_str_eq(
        out.bytes,
        "where the heights come from is not told (too little was passed twice): they are taken to "
        "be from a\n"
        "pressure sensor; differences between setups can be told, and CdA itself\n"
        "\n"
        "   recording     format  samples  start                time  holds\n"
        "                                  UTC               h:min:s\n"
        "1  one, two.gpx  GPX           3  2001-09-09 01:46  2:01:02  elevation speed\n"
        "2  b.tcx         TCX           3  2001-09-09 01:46  2:01:02  elevation speed power\n"
        "\n"
        "1 run kept on 2001-09-09:\n"
        "run  recording  start     time  length  drop  slope  entry   top  exit  ends in  setup  "
        "wind noted\n"
        "                UTC          s       m     m      %   km/h  km/h  km/h                    "
        "    km/h\n"
        "  1          1  01:47:20    62     812  33.4   -4.1   11.2  55.8  53.1  brake    cape     "
        "    -0.9\n"
        "\n"
        "1 turned down:\n"
        "run  recording  start     time  length  drop  slope  entry   top  exit  ends in  turned "
        "down for\n"
        "                UTC          s       m     m      %   km/h  km/h  km/h\n"
        "  2          2  02:36:40     9      90     -      -   28.8  32.4   9.0  stop     too "
        "short, skipped\n"
        "                                                                                 by the "
        "outing file\n");
}
END_TEST

START_TEST(a_single_recording_needs_no_number) {
    of.n_recordings = 1;
    of.has_file = false;
    of.runs.n = 1;
    ck_assert_int_eq(cw_report_runs_table(&of, false, &look, &out, &error), CW_OK);
    ck_assert_ptr_null(strstr(out.bytes, "turned down"));
    ck_assert_ptr_null(strstr(out.bytes, "ends in  setup"));
    ck_assert_ptr_nonnull(strstr(out.bytes, "\nrecording "));
    ck_assert_ptr_nonnull(strstr(out.bytes, "\nrun  start  "));
}
END_TEST

START_TEST(runs_told_by_energy_are_marked) {
    /* Of the kept ones alone; the column comes only where they differ. */
    ck_assert_int_eq(cw_report_runs_table(&of, false, &look, &out, &error), CW_OK);
    ck_assert_ptr_null(strstr(out.bytes, "energy"));
    cw_text_free(&out);
    runs_at[0].by_energy = true;
    ck_assert_int_eq(cw_report_runs_table(&of, false, &look, &out, &error), CW_OK);
    ck_assert_ptr_nonnull(strstr(out.bytes, "\nThis run is told by energy alone"));
    ck_assert_ptr_null(strstr(out.bytes, "told by  "));
    cw_text_free(&out);
    runs_at[0].by_energy = false;
    struct cw_run turned_down = runs_at[1];
    runs_at[1].kept = true;
    ck_assert_int_eq(cw_report_runs_table(&of, false, &look, &out, &error), CW_OK);
    ck_assert_ptr_nonnull(strstr(out.bytes, "told by"));
    ck_assert_ptr_nonnull(strstr(out.bytes, "sensor"));
    ck_assert_ptr_nonnull(
        strstr(out.bytes, "\nSome of these runs (\"energy\") are told by energy"));
    runs_at[1] = turned_down;
}
END_TEST

START_TEST(an_ordinary_rides_coasts_do_not_flood_the_table) {
    /* Three of those that tell too little a recording, the farthest; what the outing file skips is
     * listed in any case. */
    static const double far_m[] = {50, 80, 30, 90, 60, 90, 10, 20};
    enum { SHORT = sizeof far_m / sizeof *far_m };
    struct cw_run many[SHORT + 1] = {runs_at[0]};
    for (int k = 1; k <= SHORT; k++) {
        many[k] = runs_at[1];
        many[k].number = k + 1;
        many[k].distance_m = far_m[k - 1];
        many[k].reasons = CW_REASON_SHORT | (k == SHORT ? CW_REASON_SKIPPED : 0);
        many[k].recording = k == 7;
    }
    struct cw_runs two = of.runs;
    of.runs.at = many;
    of.runs.n = SHORT + 1;
    ck_assert_int_eq(cw_report_runs_table(&of, false, &look, &out, &error), CW_OK);
    ck_assert_ptr_nonnull(strstr(out.bytes, "\n5 turned down:\n"));
    static const bool listed[] = {false, true, false, true, false, true, true, true};
    for (int k = 0; k < SHORT; k++) {
        char row[40];
        snprintf(row, sizeof row, "\n  %d          %d  02:36:40", k + 2, k == 6 ? 2 : 1);
        ck_assert_msg(!strstr(out.bytes, row) == !listed[k], "%d in %s", k + 2, out.bytes);
    }
    ck_assert_ptr_nonnull(
        strstr(out.bytes, "\n3 more coasts tell too little to be runs; --all lists them.\n"));
    cw_text_free(&out);
    ck_assert_int_eq(cw_report_runs_table(&of, true, &look, &out, &error), CW_OK);
    ck_assert_ptr_nonnull(strstr(out.bytes, "\n8 turned down:\n"));
    ck_assert_ptr_null(strstr(out.bytes, "more coast"));
    of.runs = two;
}
END_TEST

START_TEST(the_csv_holds_every_run) {
    ck_assert_int_eq(cw_report_runs_csv(&of, &out, &error), CW_OK);
    ck_assert_str_eq(
        out.bytes,
        "number,recording,line,start,duration_s,distance_m,drop_m,mean_slope,entry_speed_ms,"
        "top_speed_ms,exit_speed_ms,ends,kept,reasons,road,setup,by_energy,reversed,"
        "wind_noted_ms,wind_logged_ms\r\n"
        "1,\"one, two.gpx\",40,2001-09-09T01:47:20.250Z,61.5,812.25,33.375,-0.041,3.125,15.5,14.75,"
        "brake,true,,1,cape,false,false,-0.25,\r\n"
        "2,b.tcx,12,2001-09-09T02:36:40Z,9,90.5,,,8,9,2.5,stop,false,"
        "too short; skipped by the outing file,,,true,false,,\r\n");
}
END_TEST

START_TEST(the_json_keeps_its_contract) {
    ck_assert_int_eq(cw_report_runs_json(&of, &out, &error), CW_OK);
    static const char *const parts[] = {"\"file\": \"one, two.gpx\"",
                                        "\"format\": \"GPX\"",
                                        "\"samples\": 3",
                                        "\"start\": \"2001-09-09T01:46:40Z\"",
                                        "\"duration_s\": 7261.5",
                                        "\"elevation\": true",
                                        "\"cadence\": false",
                                        "\"line 77: time goes backwards\"",
                                        "\"number\": 1",
                                        "\"recording\": \"one, two.gpx\"",
                                        "\"start\": \"2001-09-09T01:47:20.250Z\"",
                                        "\"duration_s\": 61.5",
                                        "\"distance_m\": 812.25",
                                        "\"drop_m\": 33.375",
                                        "\"mean_slope\": -0.041",
                                        "\"entry_speed_ms\": 3.125",
                                        "\"top_speed_ms\": 15.5",
                                        "\"exit_speed_ms\": 14.75",
                                        "\"ends\": \"brake\"",
                                        "\"kept\": true",
                                        "\"reasons\": []",
                                        "\"by_energy\": false",
                                        "\"by_energy\": true",
                                        "\"setup\": \"cape\"",
                                        "\"drop_m\": null",
                                        "\"mean_slope\": null",
                                        "\"ends\": \"stop\"",
                                        "\"kept\": false",
                                        "\"too short\",",
                                        "\"road\": null"};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        ck_assert_msg(strstr(out.bytes, parts[i]) != NULL, "%s in %s", parts[i], out.bytes);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_runs");
    TCase *tests = tcase_create("runs");
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, the_table_is_for_people);
    tcase_add_test(tests, runs_told_by_energy_are_marked);
    tcase_add_test(tests, a_single_recording_needs_no_number);
    tcase_add_test(tests, an_ordinary_rides_coasts_do_not_flood_the_table);
    tcase_add_test(tests, the_csv_holds_every_run);
    tcase_add_test(tests, the_json_keeps_its_contract);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
