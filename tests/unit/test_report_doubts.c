#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/doubts.h"

static struct cw_run at[2];
static struct cw_fit_run runs[2];
static struct cw_fit_recorder recorder;
static struct cw_recording recording = {.file = "ride.gpx"};
static struct cw_analysed of;
static struct cw_sentences said;

static void begin(void) {
    at[0] = (struct cw_run){.duration_s = 80};
    at[1] = (struct cw_run){.duration_s = 100};
    runs[0].run = 0;
    runs[1].run = 1;
    recorder = (struct cw_fit_recorder){.lag_s = 3};
    of = (struct cw_analysed){
        .n_recordings = 1,
        .recordings = &recording,
        .outing = {.rider.mass_kg = 71, .rider.bike_mass_kg = 9, .air = {.pressure_hpa = NAN}},
        .runs = {.n = 2, .at = at},
        .fit = {.n_runs = 2, .runs = runs, .n_recorders = 1, .recorders = &recorder}};
}

static void end(void) {
    cw_sentences_free(&said);
}

/* The one doubt there is, "" for none. */
static const char *doubt(void) {
    cw_sentences_free(&said);
    cw_doubts_add(&of, &said);
    ck_assert_uint_le(said.n, 1);
    return said.n ? cw_sentences_next(&said, NULL) : "";
}

static void ck_holds(const char *string, const char *part) {
    ck_assert_msg(strstr(string, part) != NULL, "%s", string);
}

START_TEST(smoothed_heights_want_a_long_road) {
    ck_assert_str_eq(doubt(), "");
    recorder.lag_s = 8.9;
    ck_assert_str_eq(doubt(), "");
    recorder.lag_s = 9.2;
    ck_holds(doubt(), "the device smooths its heights over 9.2 s, and the runs last 90 s: the road "
                      "is too short for it. CdA itself then comes out too high, by some 10 %");
    at[0].duration_s = 32;
    at[1].duration_s = 44;
    recorder.lag_s = 0.1; /* which such runs say of any device */
    ck_holds(doubt(), "the runs last 38 s: too short to tell well over how many seconds");
    of.outing.elevation = CW_ELEVATION_LEVEL; /* no heights are used */
    ck_assert_str_eq(doubt(), "");
    of.outing.elevation = CW_ELEVATION_SATELLITE; /* which hardly smooth */
    ck_assert_str_eq(doubt(), "");
}
END_TEST

START_TEST(a_windy_outing) {
    of.outing.wind_along_ms = -1.9;
    of.fit.noise.gust_sd_ms = 0.5;
    ck_assert_str_eq(doubt(), "");
    of.outing.wind_along_ms = -2.4;
    ck_holds(doubt(), "a windy outing: 9 km/h along the road, as the outing file says");
    of.fit.wind_told = true; /* by runs either way: what the file says is then of no account */
    of.fit.wind_along_ms.value = 0.3;
    ck_assert_str_eq(doubt(), "");
    of.fit.wind_along_ms.value = 3.1;
    ck_holds(doubt(), "a windy outing: 11 km/h along the road, as the runs either way tell");
    of.fit.wind_along_ms.value = 0;
    of.fit.noise.gust_sd_ms = 0.9;
    ck_holds(doubt(), "a windy outing: gusts of 3.2 km/h");
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_doubts");
    TCase *tests = tcase_create("doubts");
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, smoothed_heights_want_a_long_road);
    tcase_add_test(tests, a_windy_outing);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
