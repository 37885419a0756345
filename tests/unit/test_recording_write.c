#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <zlib.h>

#include "recording/write.h"

static struct cw_samples two_samples(void) {
    struct cw_samples samples = {0};
    struct cw_sample sample = cw_sample_missing();
    sample.time_s = 1e9 + 0.25;
    sample.latitude_deg = 46.12345678;
    sample.longitude_deg = -7.5;
    sample.elevation_m = 512.4;
    sample.speed_ms = 11.0625;
    sample.cadence_rpm = 0;
    ck_assert_int_eq(cw_samples_add(&samples, &sample), CW_OK);
    sample = cw_sample_missing();
    sample.time_s = 1e9 + 1;
    sample.distance_m = 17.25;
    sample.power_w = 215;
    sample.break_before = true;
    ck_assert_int_eq(cw_samples_add(&samples, &sample), CW_OK);
    return samples;
}

START_TEST(gpx_holds_what_a_sample_has) {
    struct cw_samples samples = two_samples();
    struct cw_text text = {0};
    ck_assert_int_eq(cw_recording_add_text(&samples, CW_FORMAT_GPX, "Mill & lane", &text, NULL),
                     CW_OK);
    ck_assert_ptr_nonnull(strstr(text.bytes, "<name>Mill &amp; lane</name>"));
    ck_assert_ptr_nonnull(strstr(text.bytes,
                                 "<trkpt lat=\"46.1234568\" lon=\"-7.5\">\n<ele>512.4</ele>\n"
                                 "<time>2001-09-09T01:46:40.250Z</time>\n<extensions>\n"
                                 "<gpxtpx:TrackPointExtension>\n<gpxtpx:cad>0</gpxtpx:cad>\n"
                                 "<gpxtpx:speed>11.062</gpxtpx:speed>\n"
                                 "</gpxtpx:TrackPointExtension>\n</extensions>\n</trkpt>"));
    /* The second has no position, so it cannot be a GPX point. */
    ck_assert_ptr_null(strstr(text.bytes, "17.25"));
    cw_text_free(&text);
    cw_samples_free(&samples);
}
END_TEST

START_TEST(tcx_holds_what_a_sample_has) {
    struct cw_samples samples = two_samples();
    struct cw_text text = {0};
    ck_assert_int_eq(cw_recording_add_text(&samples, CW_FORMAT_TCX, NULL, &text, NULL), CW_OK);
    ck_assert_ptr_nonnull(strstr(text.bytes,
                                 "</Trackpoint>\n</Track>\n<Track>\n<Trackpoint>\n"
                                 "<Time>2001-09-09T01:46:41Z</Time>\n"
                                 "<DistanceMeters>17.25</DistanceMeters>\n<Extensions>\n<ns3:TPX>\n"
                                 "<ns3:Watts>215</ns3:Watts>\n</ns3:TPX>\n</Extensions>\n"));
    ck_assert_ptr_null(strstr(text.bytes, "nan"));
    ck_assert_ptr_null(strstr(text.bytes, "null"));
    cw_text_free(&text);
    cw_samples_free(&samples);
}
END_TEST

START_TEST(gzip_inflates_to_the_plain_text) {
    struct cw_samples samples = two_samples();
    struct cw_text text = {0};
    ck_assert_int_eq(cw_recording_add_text(&samples, CW_FORMAT_TCX, "x", &text, NULL), CW_OK);
    char path[] = "/tmp/coastwise-write-XXXXXX";
    int fd = mkstemp(path);
    ck_assert_int_ge(fd, 0);
    close(fd);
    struct cw_error error = {0};
    ck_assert_msg(!cw_recording_write(path, &samples, CW_FORMAT_TCX, true, "x", &error), "%s",
                  error.message);
    gzFile file = gzopen(path, "rb");
    char inflated[4096];
    int length = gzread(file, inflated, sizeof inflated);
    ck_assert_int_eq(gzdirect(file), 0);
    gzclose(file);
    unlink(path);
    ck_assert_int_eq(length, (int)text.length);
    ck_assert_mem_eq(inflated, text.bytes, text.length);
    cw_text_free(&text);
    cw_samples_free(&samples);
}
END_TEST

START_TEST(what_cannot_be_written_is_said) {
    struct cw_samples samples = {0};
    struct cw_error error = {0};
    ck_assert_int_eq(
        cw_recording_write("/nowhere/x.gpx", &samples, CW_FORMAT_GPX, false, NULL, &error),
        CW_E_DATA);
    samples = two_samples();
    ck_assert_int_eq(
        cw_recording_write("/nowhere/x.gpx", &samples, CW_FORMAT_GPX, false, NULL, &error),
        CW_E_WRITE);
    ck_assert_str_eq(error.file, "/nowhere/x.gpx");
    cw_samples_free(&samples);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("recording_write");
    TCase *cases = tcase_create("recording_write");
    tcase_add_test(cases, gpx_holds_what_a_sample_has);
    tcase_add_test(cases, tcx_holds_what_a_sample_has);
    tcase_add_test(cases, gzip_inflates_to_the_plain_text);
    tcase_add_test(cases, what_cannot_be_written_is_said);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
