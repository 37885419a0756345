#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/ride.h"

#define MOST 50

static const struct cw_look look = {.columns = 100, .utf8 = true};
static struct cw_recording recordings[3];
static struct cw_run at[MOST];
static struct cw_setup setups[2];
static struct cw_analysed of;
static struct cw_text text;
static char outing_file[] = "my outing.ini";

static void begin(void) {
    memset(at, 0, sizeof at);
    recordings[0].file = "a.gpx";
    recordings[1].file = "b.gpx";
    recordings[2].file = "c.gpx";
    setups[0] = (struct cw_setup){.name = "all"};
    setups[1] = (struct cw_setup){.name = "cape"};
    of = (struct cw_analysed){.n_recordings = 1,
                              .recordings = recordings,
                              .outing = {.file = outing_file, .n_setups = 1, .setups = setups},
                              .runs = {.at = at}};
}

static void end(void) {
    cw_text_free(&text);
}

/* One more run, kept. */
static struct cw_run *add(size_t road, bool reversed) {
    struct cw_run *run = &at[of.runs.n++];
    *run = (struct cw_run){
        .number = (long)of.runs.n, .kept = true, .road = road, .reversed = reversed};
    return run;
}

static const char *said(void) {
    cw_text_free(&text);
    cw_ride_add(&of, NULL, &text);
    return text.bytes ? text.bytes : "";
}

static const char *lines(void) {
    cw_text_free(&text);
    cw_ride_lines_add(&of, &look, &text);
    return text.bytes ? text.bytes : "";
}

static void ck_begins(const char *string, const char *with) {
    ck_assert_msg(!strncmp(string, with, strlen(with)), "%s", string);
}

START_TEST(roads_coasted_once_make_no_test) {
    for (size_t road = 0; road < 3; road++) add(road, false);
    ck_begins(said(), "an ordinary ride, no test: no road was coasted twice the same way");
    ck_assert_ptr_nonnull(strstr(said(), "; for a test, coast one road again and again"));
    add(0, true); /* there and back */
    ck_begins(said(), "an ordinary ride, no test: ");
    ck_assert_str_eq(lines(), "\nFor what single coasts tell of CdA, type\n"
                              "  coastwise start a.gpx\n");
    of.has_file = true;
    ck_assert_str_eq(lines(), "");
    of.runs.n = 1;
    ck_begins(said(), "an ordinary ride, no test: it has one coast that can be used");
}
END_TEST

START_TEST(two_of_a_road_among_others_are_chance) {
    for (size_t road = 0; road < 3; road++) add(road, false);
    add(0, false);
    ck_begins(said(), "an ordinary ride, hardly a test: of its 4 coasts only 2 are on one road;");
    of.has_file = true;
    ck_assert_str_eq(lines(),
                     "\nTo compare setups on that road, type, with a name of your own for each "
                     "setup\n"
                     "  coastwise start --update 'my outing.ini' --order 'first - - second'\n");
}
END_TEST

/* An outing file turns down runs elsewhere by itself where a road has three and more. */
START_TEST(a_repeated_road_wants_labels) {
    for (int i = 0; i < 5; i++) add(0, i % 2);
    add(1, false);
    at[3].kept = false;
    ck_assert_str_eq(said(), "one road was coasted 4 times, 1 of them the other way, but the setup "
                             "of each run is not known: what to type follows below");
    of.has_file = true;
    of.outing.n_setups = 2;
    ck_assert_str_eq(lines(),
                     "\nTo compare setups on that road, type, with the setup that each run was in\n"
                     "  coastwise start --update 'my outing.ini' --order 'all cape cape all'\n");
    of.outing.order.n = 7;
    ck_assert_str_eq(said(), "");
    ck_assert_str_eq(lines(), "");
    of.outing.order.n = 0;
    of.outing.n_setups = 1;
    of.outing.setups = setups + 1; /* a setup with a name is a label for all */
    ck_assert_str_eq(said(), "");
}
END_TEST

START_TEST(recordings_without_runs_on_the_road_are_left_out) {
    of.n_recordings = 3;
    for (size_t i = 0; i < 4; i++) add(0, false)->recording = i % 2;
    add(1, false)->recording = 2;
    ck_assert_str_eq(lines(), "\nTo compare setups on that road, type\n"
                              "  coastwise start a.gpx b.gpx\n");
}
END_TEST

/* A line that does not fit goes on in the next, as a shell reads it; a file is no option. */
START_TEST(long_commands_go_on) {
    static const struct cw_look narrow = {.columns = 30, .utf8 = true};
    recordings[0].file = "-a long name.gpx";
    recordings[1].file = "it's another.gpx";
    of.n_recordings = 2;
    for (size_t i = 0; i < 2; i++) add(0, false)->recording = i;
    cw_ride_lines_add(&of, &narrow, &text);
    ck_assert_str_eq(text.bytes, "\nTo compare setups on that road, type\n"
                                 "  coastwise start \\\n"
                                 "    ./'-a long name.gpx' \\\n"
                                 "    'it'\\''s another.gpx'\n");
}
END_TEST

START_TEST(many_runs_are_not_named_one_by_one) {
    for (int i = 0; i < 40; i++) add(0, false);
    of.has_file = true;
    ck_assert_ptr_nonnull(strstr(lines(), "--order 'first second second first ...'\n"));
}
END_TEST

START_TEST(nothing_found_is_not_said_twice) {
    ck_assert_str_eq(said(), "");
    of.runs.n_slight = 3;
    ck_begins(said(), "no coast here tells CdA or Crr");
    ck_assert_str_eq(lines(), "");
}
END_TEST

START_TEST(what_single_coasts_tell_is_said_with_how_poorly) {
    struct cw_fit_run runs[3] = {
        {.run = 0, .together_identifiable = true, .together_cda_m2 = {0.4, 0.1, 0.2, 0.6, 0}},
        {.run = 1, .together_identifiable = true, .together_cda_m2 = {0.36, 0.04, 0.28, 0.44, 0}},
        {.run = 2}};
    struct cw_setup_result all = {.cda_m2 = {0.37, 0.03, 0.31, 0.43, 0}, .level_told = true};
    struct cw_compare together = {.n_setups = 1, .setups = &all, .n_told = 1};
    for (size_t road = 0; road < 3; road++) add(road, false);
    of.fitted = true;
    of.fit.n_runs = 3;
    of.fit.runs = runs;
    cw_ride_add(&of, &together, &text);
    ck_assert_ptr_nonnull(strstr(text.bytes,
                                 "; 2 of 3 coasts tell a CdA, the best of them run 2: "
                                 "0.360 m² (95 %: 0.280 to 0.440 m²); were all of one "
                                 "setup, they would tell 0.370 m² (0.310 to 0.430 m²)"));
    cw_text_free(&text);
    runs[0].together_identifiable = runs[1].together_identifiable = all.level_told = false;
    cw_ride_add(&of, &together, &text);
    ck_assert_ptr_nonnull(strstr(text.bytes, "; no coast tells a CdA: give Crr in [rolling]"));
    ck_assert_ptr_null(strstr(text.bytes, "m²"));
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_ride");
    TCase *tests = tcase_create("ride");
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, roads_coasted_once_make_no_test);
    tcase_add_test(tests, two_of_a_road_among_others_are_chance);
    tcase_add_test(tests, a_repeated_road_wants_labels);
    tcase_add_test(tests, recordings_without_runs_on_the_road_are_left_out);
    tcase_add_test(tests, many_runs_are_not_named_one_by_one);
    tcase_add_test(tests, long_commands_go_on);
    tcase_add_test(tests, nothing_found_is_not_said_twice);
    tcase_add_test(tests, what_single_coasts_tell_is_said_with_how_poorly);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
