#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "recording/format.h"
#include "recording/format_type.h"
#include "recording/read.h"
#include "recording/write.h"

START_TEST(a_format_has_a_name_and_a_word) {
    static const char *const words[] = {"gpx", "tcx"};
    enum cw_format format = CW_FORMATS;
    char text[CW_FORMAT_TEXT];
    ck_assert_str_eq(cw_format_text(CW_FORMAT_GPX), "GPX");
    ck_assert_str_eq(cw_format_text(CW_FORMAT_TCX), "TCX");
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        ck_assert(cw_format_find(words[i], &format));
        ck_assert_str_eq(cw_format_word(format), words[i]);
    }
    ck_assert(!cw_format_find("Gpx", &format) && !cw_format_find("", &format));
    ck_assert_int_eq(format, CW_FORMAT_TCX);
    ck_assert_str_eq(cw_format_names(" or ", text), "GPX or TCX");
    ck_assert_str_eq(cw_format_words(" nor ", text), "gpx nor tcx");
}
END_TEST

static struct cw_samples some_samples(void) {
    struct cw_samples samples = {0};
    for (int i = 0; i < 20; i++) {
        struct cw_sample sample = cw_sample_missing();
        sample.time_s = 1e9 + i;
        sample.latitude_deg = 46 + 1e-4 * i;
        sample.longitude_deg = 7.5;
        sample.elevation_m = 500.25 - i;
        sample.speed_ms = 11.125 + 0.25 * (i % 3);
        sample.cadence_rpm = 80 + i;
        sample.power_w = 200 + i;
        sample.temperature_c = 12 + i;
        sample.break_before = i == 0;
        ck_assert_int_eq(cw_samples_add(&samples, &sample), CW_OK);
    }
    return samples;
}

static bool knows(const struct cw_format_type *type, const char *head, size_t length) {
    bool is = false;
    ck_assert_int_eq(type->sniff(head, length, &is, NULL), CW_OK);
    return is;
}

/* Every format in the list knows its own files, and no other's, and reads back what it writes. */
START_TEST(what_a_format_writes_it_knows_and_reads) {
    enum cw_format format = (enum cw_format)_i;
    struct cw_samples samples = some_samples();
    struct cw_text text = {0};
    struct cw_error error;
    struct cw_recording recording;
    ck_assert_int_eq(cw_recording_add_text(&samples, format, "a ride", &text, &error), CW_OK);
    for (int other = 0; other < CW_FORMATS; other++)
        ck_assert(knows(cw_format_type((enum cw_format)other), text.bytes, text.length) ==
                  (other == _i));
    ck_assert_msg(cw_recording_read_memory(text.bytes, text.length, "ride", &recording, &error) ==
                      CW_OK,
                  "%s", error.message);
    ck_assert_int_eq(recording.format, format);
    ck_assert_uint_eq(recording.samples.n, samples.n);
    ck_assert_int_eq(recording.has_temperature, cw_recording_holds_temperature(format));
    for (size_t i = 0; i < samples.n; i++) {
        ck_assert_double_eq(recording.samples.time_s[i], samples.time_s[i]);
        ck_assert_double_eq_tol(recording.samples.latitude_deg[i], samples.latitude_deg[i], 1e-7);
        ck_assert_double_eq(recording.samples.elevation_m[i], samples.elevation_m[i]);
        ck_assert_double_eq(recording.samples.speed_ms[i], samples.speed_ms[i]);
        ck_assert_double_eq(recording.samples.cadence_rpm[i], samples.cadence_rpm[i]);
        ck_assert_double_eq(recording.samples.power_w[i], samples.power_w[i]);
    }
    cw_recording_free(&recording);
    cw_text_free(&text);
    cw_samples_free(&samples);
}
END_TEST

/* And one that cannot hold a sample without a position says so. */
START_TEST(a_format_says_what_it_needs) {
    enum cw_format format = (enum cw_format)_i;
    struct cw_samples samples = some_samples();
    struct cw_text text = {0};
    for (size_t i = 0; i < samples.n; i++) samples.latitude_deg[i] = NAN;
    ck_assert_int_eq(cw_recording_add_text(&samples, format, NULL, &text, NULL),
                     cw_recording_needs_position(format) ? CW_E_DATA : CW_OK);
    cw_text_free(&text);
    cw_samples_free(&samples);
}
END_TEST

/* What stands before the root element, and what it is called in full, makes no difference. */
START_TEST(a_file_is_told_by_its_root) {
    static const char *const gpx[] = {
        "<gpx/>", "<gpx", "\xef\xbb\xbf \n<gpx version='1.1'>",
        "<?xml version='1.0' encoding='nonsense'?><!-- <a> -->\n<gpx>",
        "<!DOCTYPE gpx>\n<g:gpx xmlns:g='http://example.org/g'>"};
    static const char *const others[] = {
        "", " ", "<", "<gp", "<gpxx>", "<kml><gpx/></kml>", "gpx", "PK\3\4<gpx>"};
    const struct cw_format_type *type = cw_format_type(CW_FORMAT_GPX);
    for (size_t i = 0; i < sizeof gpx / sizeof *gpx; i++)
        ck_assert_msg(knows(type, gpx[i], strlen(gpx[i])), "%s", gpx[i]);
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        ck_assert_msg(!knows(type, others[i], strlen(others[i])), "%s", others[i]);
}
END_TEST

static void expect_refused(const char *bytes, size_t length, const char *message) {
    struct cw_recording recording;
    struct cw_error error;
    ck_assert_int_eq(cw_recording_read_memory(bytes, length, "x", &recording, &error), CW_E_FORMAT);
    ck_assert_str_eq(error.message, message);
    cw_recording_free(&recording);
}

START_TEST(what_is_of_no_format_is_said) {
    static const struct {
        const char *bytes;
        size_t length;
        const char *message;
    } rows[] = {
        {"", 0, "is empty"},
        {" \n", 2, "holds nothing but blank space"},
        {"PK\3\4", 4, "is a ZIP archive: unpack it and give the recording in it"},
        {"\x0e\x10\0\0\0\0\0\0.FIT", 12,
         "is a FIT file, which is not read: export the ride as GPX or TCX"},
        {"time,speed\n", 11, "is neither GPX nor TCX: export the ride as GPX or TCX"},
        {"<?xml version='1.0'?><kml>", 26,
         "is XML, but its root is <kml>: export the ride as GPX or TCX"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        expect_refused(rows[i].bytes, rows[i].length, rows[i].message);
    static char blank[CW_SOURCE_PEEK_MAX + 100];
    memset(blank, ' ', sizeof blank);
    expect_refused(blank, sizeof blank, "is neither GPX nor TCX: export the ride as GPX or TCX");
}
END_TEST

int main(void) {
    Suite *suite = suite_create("recording_format");
    TCase *tests = tcase_create("formats");
    tcase_add_test(tests, a_format_has_a_name_and_a_word);
    tcase_add_loop_test(tests, what_a_format_writes_it_knows_and_reads, 0, CW_FORMATS);
    tcase_add_loop_test(tests, a_format_says_what_it_needs, 0, CW_FORMATS);
    tcase_add_test(tests, a_file_is_told_by_its_root);
    tcase_add_test(tests, what_is_of_no_format_is_said);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
