#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/read.h"

static struct cw_recording recording;

static void read_tcx(const char *activity) {
    char text[16384];
    int length = snprintf(text, sizeof text,
                          "<TrainingCenterDatabase><Activities><Activity Sport='Biking'>\n%s\n"
                          "</Activity></Activities></TrainingCenterDatabase>",
                          activity);
    ck_assert_int_lt(length, (int)sizeof text);
    struct cw_error error = {0};
    enum cw_status status =
        cw_recording_read_memory(text, (size_t)length, "x.tcx", &recording, &error);
    ck_assert_msg(status == CW_OK, "%s", error.message);
    ck_assert_int_eq(recording.format, CW_FORMAT_TCX);
}

#define TIME(second) "<Time>2024-01-01T00:00:" second "Z</Time>"
#define PLACE(lat)                                                                                 \
    "<Position><LatitudeDegrees>" lat "</LatitudeDegrees><LongitudeDegrees>7</LongitudeDegrees>"   \
    "</Position>"
#define POINT(second, inside) "<Trackpoint>" TIME(second) inside "</Trackpoint>\n"
#define WATTS(watts) "<Extensions><TPX><Watts>" watts "</Watts></TPX></Extensions>"

START_TEST(a_point_is_read_whole) {
    read_tcx(
        "<Lap><DistanceMeters>999</DistanceMeters><Cadence>99</Cadence><Track><Trackpoint>"
        "<Time>2024-01-01T00:00:00.125</Time>" PLACE(
            "46.5") "<AltitudeMeters>500.2</AltitudeMeters><DistanceMeters>12.5</DistanceMeters>"
                    "<HeartRateBpm><Value>120</Value></HeartRateBpm><Cadence>85</Cadence>"
                    "<Extensions><ns3:TPX xmlns:ns3='http://www.garmin.com/xmlschemas/"
                    "ActivityExtension/v2' CadenceSensor='Bike'><ns3:Speed>9.5</ns3:Speed>"
                    "<ns3:RunCadence>44</ns3:RunCadence><ns3:Watts>210</ns3:Watts></ns3:TPX>"
                    "</Extensions></Trackpoint></Track><Extensions><LX><AvgSpeed>3</AvgSpeed></LX>"
                    "</Extensions></Lap>");
    ck_assert_uint_eq(recording.samples.n, 1);
    struct cw_sample sample = cw_samples_get(&recording.samples, 0);
    ck_assert_double_eq(sample.time_s, 1704067200.125); /* 2024-01-01T00:00:00Z, POSIX time */
    ck_assert_double_eq(sample.latitude_deg, 46.5);
    ck_assert_double_eq(sample.longitude_deg, 7);
    ck_assert_double_eq(sample.elevation_m, 500.2);
    ck_assert_double_eq(sample.distance_m, 12.5);
    ck_assert_double_eq(sample.cadence_rpm, 85);
    ck_assert_double_eq(sample.speed_ms, 9.5);
    ck_assert_double_eq(sample.power_w, 210);
    ck_assert_int_eq(sample.line, 2);
    cw_recording_free(&recording);
}
END_TEST

START_TEST(the_device_is_named) {
    read_tcx("<Lap><Track>" POINT(
        "00", PLACE("46")) "</Track></Lap>"
                           "<Creator><Name>A device &amp; more</Name></Creator>");
    ck_assert_str_eq(recording.device, "A device & more");
    cw_recording_free(&recording);
    read_tcx("<Lap><Track>" POINT(
        "00", PLACE("46")) "</Track></Lap><Author><Name>A site</Name></Author>");
    ck_assert_str_eq(recording.device, "");
    cw_recording_free(&recording);
}
END_TEST

START_TEST(a_runners_cadence_is_not_a_bicycles) {
    read_tcx("<Lap><Track>" POINT("00", PLACE("46") "<Extensions><TPX CadenceSensor='Bike'>"
                                                    "<RunCadence>80</RunCadence></TPX>"
                                                    "</Extensions>") "</Track></Lap>");
    ck_assert(!recording.has_cadence);
    ck_assert(isnan(recording.samples.cadence_rpm[0]));
    cw_recording_free(&recording);
}
END_TEST

START_TEST(missing_power_is_not_zero) {
    read_tcx("<Lap><Track>" POINT("00", PLACE("46.0000") WATTS("180")) POINT(
        "01", PLACE("46.0001") WATTS("0")) POINT("02", PLACE("46.0002")) "</Track></Lap>");
    ck_assert(recording.has_power);
    ck_assert_double_eq(recording.samples.power_w[0], 180);
    ck_assert_double_eq(recording.samples.power_w[1], 0);
    ck_assert(isnan(recording.samples.power_w[2]));
    cw_recording_free(&recording);
}
END_TEST

/* Devices that write one quantity a point: all that has the same time is one sample. */
START_TEST(quantities_of_one_time_come_together) {
    read_tcx("<Lap><Track>" POINT("00", PLACE("46.0000")) POINT("01", PLACE("46.0001"))
                 POINT("00", "<DistanceMeters>100</DistanceMeters>")
                     POINT("00", "<HeartRateBpm><Value>9</Value></HeartRateBpm>")
                         POINT("01", "<DistanceMeters>110</DistanceMeters>")
                             POINT("01", "<Cadence>70</Cadence>") "</Track></Lap>");
    ck_assert_uint_eq(recording.samples.n, 2);
    ck_assert_double_eq(recording.samples.distance_m[0], 100);
    ck_assert_double_eq(recording.samples.latitude_deg[0], 46);
    ck_assert_double_eq(recording.samples.distance_m[1], 110);
    ck_assert_double_eq(recording.samples.cadence_rpm[1], 70);
    for (size_t i = 0; i < recording.warnings.n; i++)
        ck_assert_int_ne(recording.warnings.at[i].kind, CW_RECORDING_TIME_DUPLICATE);
    cw_recording_free(&recording);
}
END_TEST

START_TEST(a_lap_that_goes_on_is_no_break) {
    read_tcx("<Lap><Track>" POINT("00", PLACE("46.0000"))
                 POINT("01", PLACE("46.0001")) "</Track></Lap><Lap><Track>" POINT(
                     "02", PLACE("46.0002"))                            /* goes on */
             "</Track><Track>" POINT("03", PLACE("46.0003"))            /* a pause */
             "</Track></Lap><Lap><Track>" POINT("04", PLACE("46.5000")) /* elsewhere */
             "</Track></Lap><Lap><Track>" POINT("40", PLACE("46.5001")) /* later */
             "</Track></Lap>");
    static const bool breaks[] = {true, false, false, true, true, true};
    ck_assert_uint_eq(recording.samples.n, 6);
    for (size_t i = 0; i < 6; i++) ck_assert_int_eq(recording.samples.break_before[i], breaks[i]);
    cw_recording_free(&recording);
}
END_TEST

#define AT(second, lat, metres)                                                                    \
    POINT(second, PLACE(lat) "<DistanceMeters>" metres "</DistanceMeters>")

START_TEST(distance_never_falls) {
    read_tcx("<Lap><Track>" AT("00", "46.0000", "500") AT("01", "46.0001", "510")
                 AT("02", "46.0002", "505")                     /* steps back: missing */
             AT("03", "46.0003", "530")                         /* has caught up */
             AT("04", "46.0004", "2") AT("05", "46.0005", "13") /* starts anew */
             "</Track></Lap>");
    const double *d = recording.samples.distance_m;
    ck_assert_double_eq(d[1], 510);
    ck_assert(isnan(d[2]));
    ck_assert_double_eq(d[3], 530);
    /* 0.0001 degrees of a meridian are 11.12 m on a sphere of 6 371 008.8 m */
    ck_assert_double_eq_tol(d[4], 530 + 11.12, 0.01);
    ck_assert_double_eq_tol(d[5], d[4] + 11, 1e-9);
    ck_assert_int_eq(recording.warnings.at[0].kind, CW_RECORDING_DISTANCE_BACK);
    ck_assert_int_eq(recording.warnings.at[1].kind, CW_RECORDING_DISTANCE_RESTART);
    cw_recording_free(&recording);
}
END_TEST

START_TEST(distance_that_stands_still_with_the_rider_is_kept) {
    read_tcx("<Lap><Track>" AT("00", "46.0000", "500") AT("01", "46.0000", "500")
                 AT("02", "46.0000", "500") AT("03", "46.0001", "511") AT("04", "46.0002", "511")
                     AT("05", "46.0003", "533") "</Track></Lap>");
    const double *d = recording.samples.distance_m;
    ck_assert_double_eq(d[1], 500);
    ck_assert_double_eq(d[2], 500);
    ck_assert(isnan(d[4])); /* frozen: the position moved */
    ck_assert_double_eq(d[5], 533);
    cw_recording_free(&recording);
}
END_TEST

START_TEST(courses_beside_an_activity_are_left_out) {
    const char *text = "<TrainingCenterDatabase><Courses><Course><Track>" AT(
        "00", "40", "1") "</Track></Course>"
                         "</Courses><Activities><Activity><Lap><Track>" AT(
                             "01", "46", "1") "</Track></Lap>"
                                              "</Activity></Activities></TrainingCenterDatabase>";
    ck_assert_int_eq(cw_recording_read_memory(text, strlen(text), "x", &recording, NULL), CW_OK);
    ck_assert_uint_eq(recording.samples.n, 1);
    ck_assert_double_eq(recording.samples.latitude_deg[0], 46);
    ck_assert_int_eq(recording.warnings.at[0].kind, CW_RECORDING_NOT_RIDDEN);
    cw_recording_free(&recording);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("recording_tcx");
    TCase *tests = tcase_create("tcx");
    tcase_add_test(tests, a_point_is_read_whole);
    tcase_add_test(tests, the_device_is_named);
    tcase_add_test(tests, a_runners_cadence_is_not_a_bicycles);
    tcase_add_test(tests, missing_power_is_not_zero);
    tcase_add_test(tests, quantities_of_one_time_come_together);
    tcase_add_test(tests, a_lap_that_goes_on_is_no_break);
    tcase_add_test(tests, distance_never_falls);
    tcase_add_test(tests, distance_that_stands_still_with_the_rider_is_kept);
    tcase_add_test(tests, courses_beside_an_activity_are_left_out);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
