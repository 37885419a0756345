/* Every file of fixtures/recordings is read, and what must come of it is in the table. */
#include <check.h>
#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/read.h"

enum { POS = 1, ELE = 2, SPD = 4, DIST = 8, CAD = 16, POW = 32 };
#define W(kind) CW_RECORDING_##kind

struct expected {
    const char *file;
    enum cw_status status;
    size_t n, breaks;
    int has;
    int kinds[4]; /* of all the warnings, in order */
    double elevation0_m;
};

/* The same descent in all of them: due north from 46 N at 10 m/s, 1 Hz, falling 0.5 m/s from
 * 500 m, unless elevation0_m says otherwise (NaN: not checked). */
#define TRACK 500.0
static const struct expected expected[] = {
    {"cad-dropouts.gpx", CW_OK, 40, 1, POS | ELE | CAD, {0}, TRACK},
    {"cdata-comment.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"crlf-oneline.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"dist-frozen.tcx",
     CW_OK,
     40,
     1,
     POS | ELE | SPD | DIST,
     {W(DISTANCE_FROZEN), W(NO_CADENCE), W(NO_POWER)},
     TRACK},
    {"dist-reset-per-lap.tcx",
     CW_OK,
     40,
     1,
     POS | ELE | SPD | DIST,
     {W(DISTANCE_RESTART), W(NO_CADENCE), W(NO_POWER)},
     TRACK},
    {"doctype-plain.gpx", CW_OK, 40, 1, POS | ELE | SPD, {0}, TRACK},
    {"ele-65535.gpx", CW_OK, 40, 1, POS | ELE, {W(RANGE_ELEVATION), W(NO_CADENCE)}, TRACK},
    {"ele-allzero.gpx", CW_OK, 40, 1, POS, {W(NO_ELEVATION), W(NO_CADENCE)}, TRACK},
    {"ele-comma.gpx", CW_OK, 40, 1, POS | ELE, {W(NUMBER_COMMA), W(NO_CADENCE)}, TRACK},
    {"ele-empty.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"ele-exp.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"ele-nan.gpx", CW_OK, 40, 1, POS | ELE, {W(NUMBER_BAD), W(NO_CADENCE)}, TRACK},
    {"ele-none.gpx", CW_OK, 40, 1, POS, {W(NO_ELEVATION), W(NO_CADENCE)}, TRACK},
    {"ele-thousands.gpx", CW_OK, 40, 1, POS | ELE, {W(NUMBER_COMMA), W(NO_CADENCE)}, 1500.5},
    {"empty-trkseg-first.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"empty.gpx", CW_E_FORMAT, 0, 0, 0, {0}, 0},
    {"entity-doctype.gpx", CW_E_FORMAT, 0, 0, 0, {0}, 0},
    {"gpx10-course-speed-offset.gpx", CW_OK, 40, 1, POS | ELE | SPD, {0}, TRACK},
    {"gz-named-gpx.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"gzip-bad-checksum.gpx.gz", CW_OK, 40, 1, POS | ELE | SPD, {W(GZIP_DAMAGED)}, TRACK},
    {"gzip-trailing.gpx.gz", CW_OK, 40, 1, POS | ELE | SPD, {W(GZIP_TRAILING)}, TRACK},
    {"huge-gap.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, NAN},
    {"laps.tcx", CW_OK, 40, 3, POS | ELE | SPD | DIST | POW, {W(DISTANCE_RESTART)}, TRACK},
    {"latin1-undeclared.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"latin1.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"latlon-comma.gpx", CW_OK, 40, 1, POS | ELE, {W(NUMBER_COMMA), W(NO_CADENCE)}, TRACK},
    {"leading-blank.gpx", CW_OK, 40, 1, POS | ELE | SPD, {0}, TRACK},
    {"leading-blank.gpx.gz", CW_OK, 40, 1, POS | ELE | SPD, {0}, TRACK},
    {"leading-bom.gpx", CW_OK, 40, 1, POS | ELE | SPD, {0}, TRACK},
    {"lon-before-lat.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"mismatched-tag.gpx", CW_OK, 20, 1, POS | ELE | SPD, {W(XML_BROKEN)}, TRACK},
    {"multimember.gpx.gz", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"nul-padding.gpx", CW_OK, 40, 1, POS | ELE, {W(XML_TRAILING), W(NO_CADENCE)}, TRACK},
    {"pause-90-80.tcx",
     CW_OK,
     39,
     2,
     POS | ELE | SPD | DIST,
     {W(POSITION_LOST), W(NO_CADENCE), W(NO_POWER)},
     TRACK},
    {"plain-named-gz.gpx.gz", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"power-missing-vs-zero.tcx",
     CW_OK,
     40,
     1,
     POS | ELE | DIST,
     {W(NO_CADENCE), W(NO_POWER)},
     TRACK},
    {"prefixed-root.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"single-quotes-attr-order.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"smart-recording.gpx", CW_OK, 21, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"stray-ampersand.gpx", CW_OK, 40, 1, POS | ELE, {W(XML_STRAY), W(NO_CADENCE)}, TRACK},
    {"tcx-cadence-255.tcx",
     CW_OK,
     40,
     1,
     POS | ELE | SPD | DIST,
     {W(RANGE_CADENCE), W(NO_CADENCE), W(NO_POWER)},
     TRACK},
    {"tcx-cadence-missing.tcx",
     CW_OK,
     40,
     1,
     POS | ELE | SPD | DIST,
     {W(NO_CADENCE), W(NO_POWER)},
     TRACK},
    {"tcx-no-position-but-distance.tcx",
     CW_OK,
     40,
     1,
     POS | ELE | SPD | DIST,
     {W(NO_CADENCE), W(NO_POWER)},
     TRACK},
    {"tcx-no-position-last.tcx",
     CW_OK,
     39,
     1,
     POS | ELE | SPD | DIST,
     {W(NO_CADENCE), W(NO_POWER)},
     TRACK},
    {"time-blank.gpx", CW_E_FORMAT, 0, 0, 0, {0}, 0},
    {"time-duplicate.gpx", CW_OK, 34, 1, POS | ELE, {W(TIME_DUPLICATE), W(NO_CADENCE)}, NAN},
    {"time-epoch1989-middle.gpx", CW_OK, 38, 1, POS | ELE, {W(TIME_EPOCH), W(NO_CADENCE)}, TRACK},
    {"time-mixed-fraction.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, NAN},
    {"time-nozone.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"time-offset-mixed-dst.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"time-offset-nocolon.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"time-reversed.gpx", CW_E_FORMAT, 0, 0, 0, {0}, 0},
    {"tpx-cadencesensor-runcadence.tcx", CW_OK, 40, 1, POS | ELE | SPD | DIST, {0}, TRACK},
    {"tpx-x-default-speed.tcx", CW_OK, 40, 1, POS | ELE | SPD | DIST, {W(NO_CADENCE)}, TRACK},
    {"truncated-mid-tag.tcx",
     CW_OK,
     37,
     1,
     POS | ELE | SPD | DIST,
     {W(XML_CUT), W(NO_CADENCE), W(NO_POWER)},
     TRACK},
    {"truncated.gpx.gz", CW_OK, 37, 1, POS | ELE, {W(XML_CUT), W(GZIP_CUT), W(NO_CADENCE)}, TRACK},
    {"undeclared-prefix.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"utf16be-bom.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"utf16le-bom.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"version82.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"wpt-before-trk.gpx", CW_OK, 40, 1, POS | ELE, {W(NO_CADENCE)}, TRACK},
    {"zero-position.gpx", CW_OK, 37, 3, POS | ELE, {W(POSITION_LOST), W(NO_CADENCE)}, TRACK},
};
#define COUNT (sizeof expected / sizeof *expected)

static enum cw_status read_fixture(const char *name, struct cw_recording *recording,
                                   struct cw_error *error) {
    char path[1024];
    snprintf(path, sizeof path, "%s/recordings/%s", FIXTURES, name);
    return cw_recording_read(path, recording, error);
}

static void check_values(const struct expected *want, const struct cw_recording *recording) {
    const struct cw_samples *s = &recording->samples;
    for (size_t i = 0; i < s->n; i++) {
        double t = s->time_s[i] - s->time_s[0];
        ck_assert_msg(i == 0 || s->time_s[i] > s->time_s[i - 1], "%s: time at %zu", want->file, i);
        ck_assert_msg(s->line[i] > 0, "%s: line at %zu", want->file, i);
        if (isnan(want->elevation0_m)) continue;
        if (!isnan(s->latitude_deg[i])) {
            ck_assert_double_eq_tol(s->latitude_deg[i], 46 + 9e-5 * t, 1e-9);
            ck_assert_double_eq_tol(s->longitude_deg[i], 7, 1e-9);
        }
        if (!isnan(s->elevation_m[i]))
            ck_assert_msg(fabs(s->elevation_m[i] - (want->elevation0_m - 0.5 * t)) < 1e-9 ||
                              want->elevation0_m != TRACK,
                          "%s: elevation %g at %zu", want->file, s->elevation_m[i], i);
        if (!isnan(s->speed_ms[i])) ck_assert_double_eq(s->speed_ms[i], 10);
        if (!isnan(s->distance_m[i])) ck_assert_double_eq_tol(s->distance_m[i], 10 * t, 1e-6);
    }
}

START_TEST(fixtures_are_read_as_the_table_says) {
    const struct expected *want = &expected[_i];
    struct cw_recording recording;
    struct cw_error error = {0};
    enum cw_status status = read_fixture(want->file, &recording, &error);
    ck_assert_msg(status == want->status, "%s: status %d (%s)", want->file, (int)status,
                  error.message);
    if (status) {
        ck_assert_msg(strstr(error.file, want->file) && error.message[0], "%s", error.message);
        cw_recording_free(&recording);
        return;
    }
    size_t breaks = 0;
    for (size_t i = 0; i < recording.samples.n; i++) breaks += recording.samples.break_before[i];
    ck_assert_msg(recording.samples.n == want->n && breaks == want->breaks,
                  "%s: %zu samples, %zu breaks", want->file, recording.samples.n, breaks);
    int has = recording.has_position * POS | recording.has_elevation * ELE |
              recording.has_speed * SPD | recording.has_distance * DIST |
              recording.has_cadence * CAD | recording.has_power * POW;
    ck_assert_msg(has == want->has, "%s: has %x, not %x", want->file, (unsigned)has,
                  (unsigned)want->has);
    size_t kinds = 0;
    while (kinds < 4 && want->kinds[kinds]) kinds++;
    ck_assert_msg(recording.warnings.n == kinds, "%s: %zu warnings", want->file,
                  recording.warnings.n);
    for (size_t i = 0; i < kinds; i++)
        ck_assert_msg(recording.warnings.at[i].kind == want->kinds[i], "%s: %s", want->file,
                      recording.warnings.at[i].text);
    check_values(want, &recording);
    cw_recording_free(&recording);
}
END_TEST

START_TEST(every_fixture_is_in_the_table) {
    DIR *folder = opendir(FIXTURES "/recordings");
    ck_assert_ptr_nonnull(folder);
    size_t seen = 0;
    for (struct dirent *entry; (entry = readdir(folder));) {
        if (entry->d_name[0] == '.' || strcmp(entry->d_name, "README.md") == 0) continue;
        bool found = false;
        for (size_t i = 0; i < COUNT; i++) found |= strcmp(entry->d_name, expected[i].file) == 0;
        ck_assert_msg(found, "%s is not in the table", entry->d_name);
        seen++;
    }
    closedir(folder);
    ck_assert_uint_eq(seen, COUNT);
}
END_TEST

/* The counts and lines that warnings name, against the files' text. */
START_TEST(warnings_name_the_first_line_and_count) {
    static const struct {
        const char *file;
        int kind;
        long line, count;
    } want[] = {
        {"ele-65535.gpx", W(RANGE_ELEVATION), 8, 4},
        {"ele-nan.gpx", W(NUMBER_BAD), 4, 10},
        {"tcx-cadence-255.tcx", W(RANGE_CADENCE), 4, 20},
        {"time-epoch1989-middle.gpx", W(TIME_EPOCH), 19, 2},
        {"zero-position.gpx", W(POSITION_LOST), 14, 3},
        {"truncated-mid-tag.tcx", W(XML_CUT), 40, 1},
        {"mismatched-tag.gpx", W(XML_BROKEN), 24, 1},
        {"dist-frozen.tcx", W(DISTANCE_FROZEN), 4, 32},
        {"dist-reset-per-lap.tcx", W(DISTANCE_RESTART), 23, 1},
        {"time-duplicate.gpx", W(TIME_DUPLICATE), 7, 6},
    };
    for (size_t i = 0; i < sizeof want / sizeof *want; i++) {
        struct cw_recording recording;
        ck_assert_int_eq(read_fixture(want[i].file, &recording, NULL), CW_OK);
        const struct cw_warning *warning = &recording.warnings.at[0];
        ck_assert_int_eq(warning->kind, want[i].kind);
        ck_assert_msg(warning->first_line == want[i].line && warning->count == want[i].count,
                      "%s: line %ld, %ld times", want[i].file, warning->first_line, warning->count);
        cw_recording_free(&recording);
    }
}
END_TEST

/* Lines stay true to the file when blank lines before the XML are skipped. */
START_TEST(lines_count_what_was_skipped) {
    struct cw_recording plain, padded;
    ck_assert_int_eq(read_fixture("gpx10-course-speed-offset.gpx", &plain, NULL), CW_OK);
    ck_assert_int_eq(read_fixture("leading-blank.gpx", &padded, NULL), CW_OK);
    for (size_t i = 0; i < plain.samples.n; i++)
        ck_assert_int_eq(padded.samples.line[i], plain.samples.line[i] + 1);
    ck_assert_int_eq(plain.samples.line[0], 4);
    cw_recording_free(&plain);
    cw_recording_free(&padded);
}
END_TEST

static const struct {
    const char *text, *message;
} refused[] = {
    {"", "is empty"},
    {" \n ", "blank space"},
    {"time,lat,lon\n1,2,3\n", "neither GPX nor TCX"},
    {"PK\3\4 and so on", "ZIP archive"},
    {"\x0e\x10\x02\x03zzzz.FIT..", "FIT file"},
    {"<html><body/></html>", "<html>"},
    {"<gpx><rte><rtept lat='1' lon='2'/></rte></gpx>", "route to follow"},
    {"<gpx><wpt lat='1' lon='2'/></gpx>", "only waypoints"},
    {"<gpx/>", "no track points"},
    {"<TrainingCenterDatabase><Courses><Course><Track><Trackpoint><Time>2024-01-01T00:00:00Z"
     "</Time></Trackpoint></Track></Course></Courses></TrainingCenterDatabase>",
     "course to follow"},
    {"<gpx><trk><trkseg><trkpt lat='1' lon='2'/></trkseg></trk></gpx>", "no point has a time"},
    {"<gpx><trk><trkseg><trkpt><time>2024-01-01T00:00:00Z</time></trkpt></trkseg></trk></gpx>",
     "anything but a time"},
    {"<gpx><trk><trkseg><trkpt lat='1' lon='2'><time>1989-12-31T00:00:00Z</time></trkpt></trkseg>"
     "</trk></gpx>",
     "clock that was not set"},
    {"<gpx><trk></gpx>", "not well-formed"},
    {"<gpx><trk>", "cut short"},
};

START_TEST(what_is_no_recording_is_refused_in_one_line) {
    struct cw_recording recording;
    struct cw_error error = {0};
    enum cw_status status = cw_recording_read_memory(refused[_i].text, strlen(refused[_i].text),
                                                     "x.gpx", &recording, &error);
    ck_assert_int_eq(status, CW_E_FORMAT);
    ck_assert_int_eq(error.code, CW_E_FORMAT);
    ck_assert_str_eq(error.file, "x.gpx");
    ck_assert_msg(strstr(error.message, refused[_i].message) && !strchr(error.message, '\n'), "%s",
                  error.message);
    cw_recording_free(&recording);
}
END_TEST

/* Hostile input: bounded by the reader's own limits, and what came before them is kept. */
static void check_hostile(const char *opening, const char *repeated, size_t times,
                          const char *closing) {
    const char *head = "<gpx><trk><trkseg><trkpt lat='46' lon='7'><ele>5</ele>"
                       "<time>2024-01-01T00:00:00Z</time></trkpt>";
    size_t length = strlen(head) + strlen(opening) + times * strlen(repeated) + strlen(closing);
    char *bytes = malloc(length + 1), *at = bytes;
    ck_assert_ptr_nonnull(bytes);
    at = stpcpy(stpcpy(at, head), opening);
    for (size_t i = 0; i < times; i++) at = stpcpy(at, repeated);
    stpcpy(at, closing);
    struct cw_recording recording;
    ck_assert_int_eq(cw_recording_read_memory(bytes, length, "x", &recording, NULL), CW_OK);
    ck_assert_uint_eq(recording.samples.n, 1);
    ck_assert_int_eq(recording.warnings.at[0].kind, CW_RECORDING_XML_BROKEN);
    cw_recording_free(&recording);
    free(bytes);
}

START_TEST(hostile_input_is_cut_off) {
    check_hostile("", "<a>", 100000, "");                  /* depth */
    check_hostile("<a b='", "xxxxxxxxxx", 1000000, "'/>"); /* a huge attribute */
    check_hostile("<a ", "b='>' ", 20000, "/>");           /* a tag that looks short */
    char attributes[1024] = "<a";
    for (int i = 0; i < 100; i++) sprintf(attributes + strlen(attributes), " a%d=''", i);
    check_hostile(attributes, "", 0, "/>"); /* many attributes */
}
END_TEST

/* A parser that searches all names it has met for each new one would take minutes. */
START_TEST(ever_new_names_are_cut_off) {
    enum { NAMES = 2000000 };
    char *elements = malloc(NAMES * 11 + 1), *at = elements;
    ck_assert_ptr_nonnull(elements);
    for (int i = 0; i < NAMES; i++) at += sprintf(at, "<e%d/>", i);
    check_hostile("", elements, 1, "");
    free(elements);
}
END_TEST

START_TEST(huge_text_and_comments_are_no_harm) {
    size_t length = 8 << 20;
    char *bytes = malloc(length + 512), *at = bytes;
    ck_assert_ptr_nonnull(bytes);
    at = stpcpy(at, "<gpx><desc>");
    memset(at, 'x', length);
    at = stpcpy(at + length, "</desc><trk><trkseg><trkpt lat='46' lon='7'><ele>5</ele>"
                             "<time>2024-01-01T00:00:00Z</time></trkpt></trkseg></trk></gpx>");
    struct cw_recording recording;
    ck_assert_int_eq(cw_recording_read_memory(bytes, (size_t)(at - bytes), "x", &recording, NULL),
                     CW_OK);
    ck_assert_uint_eq(recording.samples.n, 1);
    ck_assert_uint_eq(recording.warnings.n, 0);
    cw_recording_free(&recording);
    free(bytes);
}
END_TEST

/* Order of time: one letter of shape a point, seconds from 2024-01-01T10:00:00. */
static void read_times(const int *seconds, size_t n, struct cw_recording *recording,
                       enum cw_status want) {
    char *bytes = malloc(n * 160 + 256), *at = bytes;
    ck_assert_ptr_nonnull(bytes);
    at = stpcpy(at, "<gpx><trk><trkseg>\n");
    for (size_t i = 0; i < n; i++) {
        int t = seconds[i] + 36000;
        at += sprintf(at,
                      "<trkpt lat='%.6f' lon='7'><ele>%d</ele><time>2024-01-01T%02d:%02d:%02dZ"
                      "</time></trkpt>\n",
                      46 + 9e-5 * (double)i, 900 - (int)i, t / 3600, t / 60 % 60, t % 60);
    }
    at = stpcpy(at, "</trkseg></trk></gpx>");
    enum cw_status status =
        cw_recording_read_memory(bytes, (size_t)(at - bytes), "x", recording, NULL);
    ck_assert_int_eq(status, want);
    free(bytes);
}

START_TEST(shuffled_points_are_put_in_order) {
    int seconds[] = {0, 1, 2, 5, 3, 4, 6, 8, 7, 9};
    struct cw_recording recording;
    read_times(seconds, 10, &recording, CW_OK);
    ck_assert_uint_eq(recording.samples.n, 10);
    for (size_t i = 1; i < 10; i++)
        ck_assert_double_eq(recording.samples.time_s[i] - recording.samples.time_s[i - 1], 1);
    ck_assert_int_eq(recording.samples.line[3], 6); /* the fourth in time stands in line 6 */
    ck_assert_int_eq(recording.warnings.at[0].kind, CW_RECORDING_TIME_ORDER);
    ck_assert_int_eq(recording.warnings.at[0].first_line, 6);
    ck_assert_int_eq(recording.warnings.at[0].count, 2);
    cw_recording_free(&recording);
}
END_TEST

START_TEST(a_lone_stamp_an_hour_ahead_is_dropped) {
    for (size_t wrong = 0; wrong < 12; wrong++) {
        int seconds[12];
        for (size_t i = 0; i < 12; i++) seconds[i] = (int)i;
        seconds[wrong] += wrong == 11 ? -3600 : 3600; /* the last one behind */
        struct cw_recording recording;
        read_times(seconds, 12, &recording, CW_OK);
        ck_assert_uint_eq(recording.samples.n, 11);
        ck_assert_int_eq(recording.warnings.at[0].kind, CW_RECORDING_TIME_SPIKE);
        ck_assert_int_eq(recording.warnings.at[0].first_line, (long)wrong + 2);
        ck_assert_double_eq_tol(recording.samples.time_s[10] - recording.samples.time_s[0], 11,
                                1.1);
        ck_assert(recording.samples.break_before[0]);
        cw_recording_free(&recording);
    }
}
END_TEST

START_TEST(a_track_written_twice_is_one) {
    int seconds[40];
    for (int i = 0; i < 40; i++) seconds[i] = i % 20;
    struct cw_recording recording;
    read_times(seconds, 40, &recording, CW_OK);
    ck_assert_uint_eq(recording.samples.n, 20);
    ck_assert_double_eq_tol(recording.samples.latitude_deg[19], 46 + 9e-5 * 19, 1e-9);
    ck_assert_int_eq(recording.warnings.at[1].kind, CW_RECORDING_TIME_DUPLICATE);
    ck_assert_int_eq(recording.warnings.at[1].count, 20);
    cw_recording_free(&recording);
}
END_TEST

START_TEST(a_reversed_recording_is_refused) {
    int seconds[50];
    for (int i = 0; i < 50; i++) seconds[i] = 50 - i;
    struct cw_recording recording;
    read_times(seconds, 50, &recording, CW_E_FORMAT);
    cw_recording_free(&recording);
    read_times(seconds, 1, &recording, CW_OK); /* one point has no direction */
    cw_recording_free(&recording);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("recording_recording");
    TCase *tests = tcase_create("recordings");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, fixtures_are_read_as_the_table_says, 0, (int)COUNT);
    tcase_add_test(tests, every_fixture_is_in_the_table);
    tcase_add_test(tests, warnings_name_the_first_line_and_count);
    tcase_add_test(tests, lines_count_what_was_skipped);
    tcase_add_loop_test(tests, what_is_no_recording_is_refused_in_one_line, 0,
                        (int)(sizeof refused / sizeof *refused));
    tcase_add_test(tests, hostile_input_is_cut_off);
    tcase_add_test(tests, ever_new_names_are_cut_off);
    tcase_add_test(tests, huge_text_and_comments_are_no_harm);
    tcase_add_test(tests, shuffled_points_are_put_in_order);
    tcase_add_test(tests, a_lone_stamp_an_hour_ahead_is_dropped);
    tcase_add_test(tests, a_track_written_twice_is_one);
    tcase_add_test(tests, a_reversed_recording_is_refused);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
