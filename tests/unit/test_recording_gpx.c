#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/read.h"

static struct cw_recording recording;

/* Reads a GPX file of the given inside of <gpx>. */
static void read_gpx(const char *inside) {
    char text[8192];
    int length = snprintf(text, sizeof text, "<gpx version='1.1'>\n%s\n</gpx>", inside);
    ck_assert_int_lt(length, (int)sizeof text);
    struct cw_error error = {0};
    enum cw_status status =
        cw_recording_read_memory(text, (size_t)length, "x.gpx", &recording, &error);
    ck_assert_msg(status == CW_OK, "%s", error.message);
    ck_assert_int_eq(recording.format, CW_FORMAT_GPX);
}

/* One point at 46 N 7 E with the given inside. */
static struct cw_sample read_point(const char *inside) {
    char text[4096];
    snprintf(text, sizeof text,
             "<trk><trkseg><trkpt lat='46' lon='7'><time>2024-01-01T00:00:00Z</time>%s</trkpt>"
             "</trkseg></trk>",
             inside);
    read_gpx(text);
    ck_assert_uint_eq(recording.samples.n, 1);
    struct cw_sample sample = cw_samples_get(&recording.samples, 0);
    cw_recording_free(&recording);
    return sample;
}

START_TEST(extensions_are_read_by_local_name) {
    static const char *forms[] = {
        "<extensions><gpxtpx:TrackPointExtension xmlns:gpxtpx='http://www.garmin.com/xmlschemas/"
        "TrackPointExtension/v1'><gpxtpx:cad>81</gpxtpx:cad></gpxtpx:TrackPointExtension>"
        "<power>205</power></extensions>",
        "<extensions><ns3:TrackPointExtension xmlns:ns3='http://www.garmin.com/xmlschemas/"
        "TrackPointExtension/v2'><ns3:cad>81</ns3:cad></ns3:TrackPointExtension></extensions>"
        "<extensions><pwr:PowerInWatts xmlns:pwr='http://www.garmin.com/xmlschemas/"
        "PowerExtension/v1'>205</pwr:PowerInWatts></extensions>",
        "<extensions><gpxtpx:TrackPointExtension><gpxtpx:cad>81</gpxtpx:cad>"
        "<gpxtpx:power>205</gpxtpx:power></gpxtpx:TrackPointExtension></extensions>",
        "<extensions><gpxtpx:TrackPointExtension><gpxtpx:hr>99</gpxtpx:hr>"
        "</gpxtpx:TrackPointExtension><gpxdata:cadence xmlns:gpxdata='http://www.cluetrust.com/"
        "XML/GPXDATA/1/0'>81</gpxdata:cadence><power>205</power></extensions>",
        "<cadence>81</cadence><power>205</power>",
        "<extensions><rpm>81</rpm><power>205</power></extensions>",
    };
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        struct cw_sample sample = read_point(forms[i]);
        ck_assert_double_eq(sample.cadence_rpm, 81);
        ck_assert_double_eq(sample.power_w, 205);
    }
}
END_TEST

START_TEST(the_device_is_named) {
    static const char text[] =
        "<gpx creator='A device whose name goes on and on, much longer than anybody keeps one'>"
        "<trk><trkseg><trkpt lat='46' lon='7'><ele>500</ele><time>2024-01-01T00:00:00Z</time>"
        "</trkpt></trkseg></trk></gpx>";
    struct cw_error error = {0};
    struct cw_recording named;
    ck_assert_int_eq(cw_recording_read_memory(text, sizeof text - 1, "x.gpx", &named, &error),
                     CW_OK);
    ck_assert_str_eq(named.device,
                     "A device whose name goes on and on, much longer than anybody ke");
    cw_recording_free(&named);
}
END_TEST

START_TEST(speed_distance_and_temperature) {
    struct cw_sample sample =
        read_point("<speed>7.25</speed><course>181</course><extensions><t:TrackPointExtension>"
                   "<t:atemp>13.5</t:atemp><t:distance>1234.5</t:distance>"
                   "</t:TrackPointExtension></extensions>");
    ck_assert_double_eq(sample.speed_ms, 7.25);
    ck_assert_double_eq(sample.temperature_c, 13.5);
    ck_assert_double_eq(sample.distance_m, 1234.5);
    ck_assert_double_eq(sample.latitude_deg, 46);
    ck_assert_double_eq(sample.time_s, 1704067200); /* 2024-01-01T00:00:00Z, from POSIX time */
}
END_TEST

START_TEST(only_a_direct_elevation_counts) {
    const char *trap = "<extensions><ele src='gps'>111</ele><ele src='bar'>222</ele></extensions>";
    ck_assert(isnan(read_point(trap).elevation_m));
    char both[256];
    snprintf(both, sizeof both, "%s<ele>333</ele>", trap);
    ck_assert_double_eq(read_point(both).elevation_m, 333);
    ck_assert_double_eq(read_point("<ele>3<!-- -->3<![CDATA[3.5]]></ele>").elevation_m, 333.5);
}
END_TEST

START_TEST(marks_for_no_value_are_missing) {
    static const char *elevations[] = {"nan", "65535", "32767", "-600", "", " ", "12 m", "1e5"};
    for (size_t i = 0; i < sizeof elevations / sizeof *elevations; i++) {
        char inside[64];
        snprintf(inside, sizeof inside, "<ele>%s</ele>", elevations[i]);
        ck_assert_msg(isnan(read_point(inside).elevation_m), "%s", elevations[i]);
    }
    static const char *cadences[] = {"255", "254", "-1", "65535"};
    for (size_t i = 0; i < sizeof cadences / sizeof *cadences; i++) {
        char inside[64];
        snprintf(inside, sizeof inside, "<cadence>%s</cadence>", cadences[i]);
        ck_assert_msg(isnan(read_point(inside).cadence_rpm), "%s", cadences[i]);
    }
    ck_assert(isnan(read_point("<speed>-1</speed>").speed_ms));
    ck_assert(isnan(read_point("<power>65535</power>").power_w));
}
END_TEST

START_TEST(commas_are_read_as_they_were_meant) {
    static const struct {
        const char *text;
        double value;
    } want[] = {{"123,5", 123.5},
                {"1,234.5", 1234.5},
                {"1.234,5", 1234.5},
                {"-0,25", -0.25},
                {"1.5e2", 150}};
    for (size_t i = 0; i < sizeof want / sizeof *want; i++) {
        char inside[64];
        snprintf(inside, sizeof inside, "<ele>%s</ele>", want[i].text);
        ck_assert_double_eq(read_point(inside).elevation_m, want[i].value);
    }
}
END_TEST

#define POINT(lat, second)                                                                         \
    "<trkpt lat='" lat "' lon='7'><ele>" second "</ele><time>2024-01-01T00:00:" second             \
    "Z</time></trkpt>\n"

START_TEST(a_break_stands_before_each_segment) {
    read_gpx("<trk><trkseg>" POINT("46.0000", "10") POINT(
        "46.0001", "11") "</trkseg><trkseg/>"
                         "<trkseg>" POINT("46.0002", "12") "</trkseg></trk><trk><trkseg>" POINT(
                             "46.0003", "13") POINT("46.0004", "14") "</trkseg></trk>");
    static const bool breaks[] = {true, false, true, true, false};
    ck_assert_uint_eq(recording.samples.n, 5);
    for (size_t i = 0; i < 5; i++) ck_assert_int_eq(recording.samples.break_before[i], breaks[i]);
    cw_recording_free(&recording);
}
END_TEST

START_TEST(segments_in_the_wrong_order_keep_their_breaks) {
    read_gpx("<trk><trkseg>" POINT("46.0003", "13")
                 POINT("46.0004", "14") "</trkseg><trkseg>" POINT("46.0000", "10")
                     POINT("46.0001", "11") "</trkseg></trk>");
    static const bool breaks[] = {true, false, true, false};
    ck_assert_uint_eq(recording.samples.n, 4);
    for (size_t i = 0; i < 4; i++) ck_assert_int_eq(recording.samples.break_before[i], breaks[i]);
    ck_assert_double_eq(recording.samples.elevation_m[0], 10);
    cw_recording_free(&recording);
}
END_TEST

START_TEST(a_lost_position_breaks_and_a_jump_is_dropped) {
    read_gpx("<trk><trkseg>" POINT("46.0000", "10") POINT(
        "46.0001",
        "11") "<trkpt lat='0' lon='0'><time>2024-01-01T00:00:12Z</time></trkpt>" POINT("46.0003",
                                                                                       "13")
                 POINT("46.9000", "14") POINT("46.0005", "15") "</trkseg></trk>");
    static const bool breaks[] = {true, false, true, false, true};
    ck_assert_uint_eq(recording.samples.n, 5);
    for (size_t i = 0; i < 5; i++) ck_assert_int_eq(recording.samples.break_before[i], breaks[i]);
    ck_assert(isnan(recording.samples.latitude_deg[3]));
    ck_assert(isnan(recording.samples.longitude_deg[3]));
    ck_assert_double_eq(recording.samples.elevation_m[3], 14);
    ck_assert_int_eq(recording.warnings.at[1].kind, CW_RECORDING_POSITION_JUMP);
    ck_assert_int_eq(recording.warnings.at[1].first_line, 5);
    cw_recording_free(&recording);
}
END_TEST

START_TEST(routes_and_waypoints_are_no_samples) {
    read_gpx("<wpt lat='1' lon='2'><ele>1</ele><time>2020-01-01T00:00:00Z</time></wpt>"
             "<rte><rtept lat='3' lon='4'><time>2020-01-01T00:00:00Z</time></rtept></rte>"
             "<trk><trkseg>" POINT("46.0000", "10") POINT("46.0001", "11") "</trkseg></trk>");
    ck_assert_uint_eq(recording.samples.n, 2);
    ck_assert_uint_eq(recording.warnings.n, 1);
    ck_assert_int_eq(recording.warnings.at[0].kind, CW_RECORDING_NOT_RIDDEN);
    ck_assert_int_eq(recording.warnings.at[0].first_line, 2);
    cw_recording_free(&recording);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("recording_gpx");
    TCase *tests = tcase_create("gpx");
    tcase_add_test(tests, extensions_are_read_by_local_name);
    tcase_add_test(tests, the_device_is_named);
    tcase_add_test(tests, speed_distance_and_temperature);
    tcase_add_test(tests, only_a_direct_elevation_counts);
    tcase_add_test(tests, marks_for_no_value_are_missing);
    tcase_add_test(tests, commas_are_read_as_they_were_meant);
    tcase_add_test(tests, a_break_stands_before_each_segment);
    tcase_add_test(tests, segments_in_the_wrong_order_keep_their_breaks);
    tcase_add_test(tests, a_lost_position_breaks_and_a_jump_is_dropped);
    tcase_add_test(tests, routes_and_waypoints_are_no_samples);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
