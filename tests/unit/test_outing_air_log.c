#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <zlib.h>

#include "base/number.h"
#include "base/text.h"
#include "base/utf8.h"
#include "outing/air_log_read.h"
#include "outing/cells.h"

/* 2001-09-09T01:46:40Z is 1e9 s (GNU date); rows here are a minute apart. */
#define DAY "2001-09-09T01:"

static const double degree = 3.14159265358979323846 / 180;

static struct cw_air_log air;
static struct cw_error error;

static enum cw_status read_text(const char *text) {
    return cw_air_log_read_memory(text, strlen(text), "station.csv", 0, &air, &error);
}

static void must_read(const char *text) {
    ck_assert_msg(read_text(text) == CW_OK, "%ld: %s", error.line, error.message);
}

static void begin(void) {
    memset(&error, 0, sizeof error);
}

static void end(void) {
    cw_air_log_free(&air);
}

/* ---- reading ---- */

START_TEST(columns_are_read_in_si) {
    must_read("time,wind_speed_kmh,wind_from_deg,temperature_c,pressure_hpa,humidity_percent\n"
              "2001-09-09T01:46:40Z,18,30,9.5,987.3,71\n"
              "2001-09-09T03:47:40+02:00,36,360,-1,988,100\n"
              "2001-09-09 01:48:40,0,,,,\n");
    ck_assert_str_eq(air.file, "station.csv");
    ck_assert_uint_eq(air.n, 3);
    static const double to_s[] = {1e9, 1e9 + 60, 1e9 + 120};
    for (size_t i = 0; i < 3; i++) {
        ck_assert_double_eq(air.to_s[i], to_s[i]);
        ck_assert_double_eq(air.from_s[i], to_s[i] - 60);
    }
    ck_assert_double_eq(air.wind_speed_ms[0], 5);
    ck_assert_double_eq(air.wind_speed_ms[1], 10);
    ck_assert_double_eq(air.wind_speed_ms[2], 0);
    ck_assert_double_eq_tol(air.wind_from_rad[0], 30 * degree, 1e-15);
    ck_assert_double_eq_tol(air.wind_from_rad[1], 360 * degree, 1e-15);
    ck_assert(isnan(air.wind_from_rad[2]));
    ck_assert_double_eq(air.temperature_c[0], 9.5);
    ck_assert_double_eq(air.temperature_c[1], -1);
    ck_assert(isnan(air.temperature_c[2]));
    ck_assert_double_eq(air.pressure_hpa[0], 987.3);
    ck_assert_double_eq(air.humidity_percent[1], 100);
    ck_assert_ptr_null(air.wind_along_ms);
    ck_assert_uint_eq(air.n_unused, 0);
}
END_TEST

/* A mile is 1609.344 m and a knot 1852 m/h by definition. */
START_TEST(each_unit_of_speed_is_known) {
    static const struct {
        const char *unit;
        double of_ten_ms;
    } units[] = {{"ms", 10}, {"kmh", 2.7777777777777778}, {"mph", 4.4704}, {"kn", 5.1444444444444}};
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        char text[200];
        snprintf(text, sizeof text,
                 "time,wind_from_deg,wind_speed_%s\n" DAY "46:40,0,10\n" DAY "47:40,0,10\n",
                 units[i].unit);
        must_read(text);
        ck_assert_double_eq_tol(air.wind_speed_ms[0], units[i].of_ten_ms, 1e-12);
        cw_air_log_free(&air);
    }
}
END_TEST

/* The same two rows in the ways in which programs write them. */
START_TEST(all_kinds_of_csv_are_read_alike) {
    static const char *const same[] = {
        "time,wind_along_ms,temperature_c\n" DAY "46:40,-1.25,9.5\n" DAY "47:40,,10\n",
        "\xef\xbb\xbftime,wind_along_ms,temperature_c\r\n" DAY "46:40,-1.25,9.5\r\n" DAY
        "47:40,,10\r\n",
        "time;wind_along_ms;temperature_c\n" DAY "46:40;-1,25;9,5\n" DAY "47:40;;10,0",
        "time;wind_along_ms;temperature_c\r" DAY "46:40;-1.25;9.5\r" DAY "47:40;;10\r",
        "time\twind_along_ms\ttemperature_c\n" DAY "46:40\t-1,25\t9.5\n" DAY "47:40\t\t10\n",
        "\n \n\"time\" , \"wind_along_ms\",temperature_c\n\n \"" DAY
        "46:40\",\"-1.25\" , 9.5\n,,\n" DAY "47:40,\"\",\"10\"\n\n",
        "temperature_c;time;wind_along_ms;\"note, \"\"free\"\"\"\n9.5;" DAY
        "46:40;-1.25;\"so; \"\"so\"\"\"\n10;" DAY "47:40;;x\"y\n",
    };
    for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
        must_read(same[i]);
        ck_assert_uint_eq(air.n, 2);
        ck_assert_double_eq(air.to_s[0], 1e9);
        ck_assert_double_eq(air.to_s[1], 1e9 + 60);
        ck_assert_double_eq(air.wind_along_ms[0], -1.25);
        ck_assert(isnan(air.wind_along_ms[1]));
        ck_assert_double_eq(air.temperature_c[0], 9.5);
        ck_assert_double_eq(air.temperature_c[1], 10);
        if (air.n_unused) ck_assert_str_eq(air.unused[0], "note, \"free\"");
        cw_air_log_free(&air);
    }
}
END_TEST

START_TEST(a_time_without_an_offset_is_the_outings) {
    const char *text = "time,wind_along_ms\n2001-09-09T01:46:40,1\n2001-09-09T01:47:40Z,2\n";
    ck_assert_int_eq(cw_air_log_read_memory(text, strlen(text), "a", -3600, &air, &error),
                     CW_E_FORMAT); /* 02:46:40Z, then 01:47:40Z */
    cw_air_log_free(&air);
    ck_assert_int_eq(cw_air_log_read_memory(text, strlen(text), "a", 19800, &air, &error), CW_OK);
    ck_assert_double_eq(air.to_s[0], 1e9 - 19800);
    ck_assert_double_eq(air.to_s[1], 1e9 + 60);
}
END_TEST

START_TEST(unused_columns_are_named) {
    must_read("time;wind_along_ms;wind_speed_highest_ms;;2;Temp \xb0"
              "C;Böe;\"a\tb\xc2\x9bz\";wind_along_gust\n" DAY "46:40;1;\xff;;;;;;\n" DAY
              "47:40;1;;;;;;;\n");
    static const char *const names[] = {
        "wind_speed_highest_ms", "column 4", "2", "Temp ?C", "Böe", "a?b?z", "wind_along_gust"};
    ck_assert_uint_eq(air.n_unused, sizeof names / sizeof *names);
    for (size_t i = 0; i < air.n_unused; i++) ck_assert_str_eq(air.unused[i], names[i]);
    cw_air_log_free(&air);
    /* A long one is cut between characters. */
    char text[400] = "time,wind_along_ms,x";
    for (int i = 0; i < 50; i++) strcat(text, "\xc3\xb6");
    strcat(text, "\n" DAY "46:40,1,\n" DAY "47:40,1,\n");
    must_read(text);
    ck_assert_uint_eq(strlen(air.unused[0]), 59);
    ck_assert(cw_utf8_valid(air.unused[0], 59));
}
END_TEST

START_TEST(gzip_is_read_and_a_cut_one_refused) {
    char path[] = "/tmp/air-log-test-XXXXXX";
    int descriptor = mkstemp(path);
    ck_assert_int_ge(descriptor, 0);
    close(descriptor);
    gzFile file = gzopen(path, "wb");
    gzprintf(file, "time,wind_along_ms\n");
    for (int i = 0; i < 1000; i++) {
        char time[40];
        cw_time_write(1e9 + i, time, sizeof time);
        gzprintf(file, "%s,%d.%d\n", time, i % 7, i % 10);
    }
    gzclose(file);
    ck_assert_msg(cw_air_log_read(path, 0, &air, &error) == CW_OK, "%s", error.message);
    ck_assert_uint_eq(air.n, 1000);
    ck_assert_double_eq(air.wind_along_ms[999], 5.9);
    cw_air_log_free(&air);
    FILE *whole = fopen(path, "rb");
    char bytes[20000];
    size_t length = fread(bytes, 1, sizeof bytes, whole);
    fclose(whole);
    ck_assert_int_eq(cw_air_log_read_memory(bytes, length / 2, "a.gz", 0, &air, &error),
                     CW_E_FORMAT);
    ck_assert_str_eq(error.message, "the gzip is cut short or damaged: copy the file again");
    cw_air_log_free(&air);
    ck_assert_int_eq(unlink(path), 0);
    ck_assert_int_eq(cw_air_log_read(path, 0, &air, &error), CW_E_READ);
    ck_assert_str_eq(error.file, path);
}
END_TEST

/* Lines longer and shorter than what is read at once, with every kind of end at every place of it.
 */
START_TEST(lines_are_whole_wherever_the_buffer_ends) {
    static const char *const ends[] = {"\n", "\r\n", "\r"};
    struct cw_text text = {0};
    cw_text_add(&text, "time,x,wind_along_ms%s", ends[_i]);
    for (int i = 0; i < 3000; i++) {
        char time[40], wide[200];
        cw_time_write(1e9 + i, time, sizeof time);
        memset(wide, 'x', sizeof wide);
        cw_text_add(&text, "%s,%.*s,%d%s", time, i % 199, wide, i % 40, ends[_i]);
    }
    ck_assert_msg(!text.failed && cw_air_log_read_memory(text.bytes, text.length, "a", 0, &air,
                                                         &error) == CW_OK,
                  "%ld: %s", error.line, error.message);
    ck_assert_uint_eq(air.n, 3000);
    for (int i = 0; i < 3000; i++) {
        ck_assert_double_eq(air.to_s[i], 1e9 + i);
        ck_assert_double_eq(air.wind_along_ms[i], i % 40);
    }
    cw_text_free(&text);
}
END_TEST

/* ---- gaps ---- */

START_TEST(a_row_after_a_gap_holds_a_usual_step) {
    must_read("time,temperature_c\n" DAY "40:00,1\n" DAY "41:00,2\n" DAY "42:00,3\n" DAY
              "44:30,4\n" DAY "45:30,5\n" DAY "55:30,6\n");
    static const double from_s[] = {-460, -400, -340, -280, -130, 470},
                        to_s[] = {-400, -340, -280, -130, -70, 530};
    for (size_t i = 0; i < air.n; i++) {
        ck_assert_double_eq(air.from_s[i], 1e9 + from_s[i]);
        ck_assert_double_eq(air.to_s[i], 1e9 + to_s[i]);
    }
}
END_TEST

/* ---- what is asked ---- */

/* 5 m/s from north-north-east, 30 degrees, to who rides east, 90 degrees: it comes from 60 degrees
 * to the left of ahead, so 5 cos 60 = 2.5 m/s of headwind and 5 sin 60 = 4.330127 from the left. */
START_TEST(wind_by_direction_is_parted_by_the_heading) {
    must_read("time,wind_speed_ms,wind_from_deg\n" DAY "46:40,5,30\n" DAY "47:40,5,30\n");
    static const struct {
        double heading_deg, along_ms, cross_ms;
    } ways[] = {{30, 5, 0},   {210, -5, 0},          {90, 2.5, -4.330127},      {300, 0, 5},
                {120, 0, -5}, {270, -2.5, 4.330127}, {-15, 3.535534, 3.535534}, {0, 4.330127, 2.5}};
    for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) {
        double along_ms, cross_ms;
        ck_assert(
            cw_air_log_wind(&air, 1e9 + 12, ways[i].heading_deg * degree, &along_ms, &cross_ms));
        ck_assert_double_eq_tol(along_ms, ways[i].along_ms, 1e-6);
        ck_assert_double_eq_tol(cross_ms, ways[i].cross_ms, 1e-6);
    }
}
END_TEST

/* Rows end at -120, -60, 0, 60, 600, 660, 720; their middles are 30 s before; the row at 60 has no
 * wind, and that at 600 follows a gap. */
static const char gappy[] =
    "time,wind_along_ms,humidity_percent\n" DAY "44:40,1,50\n" DAY "45:40,3,50\n" DAY
    "46:40,-1,60\n" DAY "47:40,,70\n" DAY "56:40,2,80\n" DAY "57:40,4,80\n" DAY "58:40,7,80\n";

START_TEST(wind_is_linear_between_rows_and_none_in_gaps) {
    must_read(gappy);
    static const struct {
        double at_s, along_ms; /* NaN: none */
    } moments[] = {{-180.5, NAN}, {-180, 1},  {-150, 1},   {-120, 2},    {-90, 3},   {-75, 2},
                   {-60, 1},      {-30, -1},  {-0.5, -1},  {0, -1},      {0.5, NAN}, {30, NAN},
                   {60, NAN},     {61, NAN},  {539, NAN},  {539.5, NAN}, {540, 2},   {541, 2},
                   {570, 2},      {585, 2.5}, {600, 3},    {645, 4.75},  {690, 7},   {720, 7},
                   {720.5, NAN},  {NAN, NAN}, {1e300, NAN}};
    for (size_t i = 0; i < sizeof moments / sizeof *moments; i++) {
        double along_ms = NAN, cross_ms = NAN;
        bool there = cw_air_log_wind(&air, 1e9 + moments[i].at_s, 1.2, &along_ms, &cross_ms);
        ck_assert_msg(there == !isnan(moments[i].along_ms), "at %g s", moments[i].at_s);
        if (!there) continue;
        ck_assert_msg(fabs(along_ms - moments[i].along_ms) < 1e-9, "%g at %g s", along_ms,
                      moments[i].at_s);
        ck_assert_double_eq(cross_ms, 0);
    }
}
END_TEST

START_TEST(means_are_by_what_rows_hold_of_a_span) {
    must_read(gappy);
    double along_ms, cross_ms, share;
    ck_assert(cw_air_log_has_wind(&air));
    /* 30 s of 3, 60 s of -1, 30 s of none. */
    ck_assert(cw_air_log_mean_wind(&air, 1e9 - 90, 1e9 + 30, 2, &along_ms, &cross_ms, &share));
    ck_assert_double_eq_tol(along_ms, (30 * 3 - 60) / 90.0, 1e-12);
    ck_assert_double_eq(cross_ms, 0);
    ck_assert_double_eq_tol(share, 0.75, 1e-12);
    /* Humidity: 30 s of 50, 60 of 60, 30 of 70. */
    ck_assert_double_eq_tol(cw_air_log_mean(&air, air.humidity_percent, 1e9 - 90, 1e9 + 30, &share),
                            60, 1e-12);
    ck_assert_double_eq_tol(share, 1, 1e-12);
    /* 300 s of the gap, 60 s each of 2 and 4. */
    ck_assert(cw_air_log_mean_wind(&air, 1e9 + 240, 1e9 + 660, 2, &along_ms, &cross_ms, &share));
    ck_assert_double_eq_tol(along_ms, 3, 1e-12);
    ck_assert_double_eq_tol(share, 120 / 420.0, 1e-12);
    ck_assert_double_eq_tol(cw_air_log_share(&air, 1e9 + 30, 1e9 + 330), 0.1, 1e-12);
    /* Nothing there. */
    ck_assert(!cw_air_log_mean_wind(&air, 1e9 + 10, 1e9 + 50, 2, &along_ms, &cross_ms, &share));
    ck_assert_double_eq(share, 0);
    ck_assert(isnan(cw_air_log_mean(&air, air.humidity_percent, 1e9 + 90, 1e9 + 99, &share)));
    ck_assert(isnan(cw_air_log_mean(&air, air.pressure_hpa, 1e9, 1e9 + 9, &share)));
    ck_assert(isnan(cw_air_log_mean(&air, air.humidity_percent, 1e9, 1e9, &share)));
    ck_assert_double_eq(share, 0);
}
END_TEST

/* 4 m/s from north and 3 from east for a minute each, who rides north: 2 of headwind, 1.5 from the
 * right; a calm without a direction counts as still air, a wind without one as nothing. */
START_TEST(mean_wind_is_of_its_parts) {
    must_read("time,wind_speed_ms,wind_from_deg\n" DAY "46:40,4,0\n" DAY "47:40,3,90\n" DAY
              "48:40,0,\n" DAY "49:40,2,\n");
    double along_ms, cross_ms, share;
    ck_assert(cw_air_log_mean_wind(&air, 1e9 - 60, 1e9 + 60, 0, &along_ms, &cross_ms, &share));
    ck_assert_double_eq_tol(along_ms, 2, 1e-12);
    ck_assert_double_eq_tol(cross_ms, 1.5, 1e-12);
    ck_assert_double_eq_tol(share, 1, 1e-12);
    ck_assert(cw_air_log_mean_wind(&air, 1e9 + 60, 1e9 + 180, 0, &along_ms, &cross_ms, &share));
    ck_assert_double_eq(along_ms, 0);
    ck_assert_double_eq_tol(share, 0.5, 1e-12);
    cw_air_log_free(&air);
    must_read("time,temperature_c\n" DAY "46:40,4\n" DAY "47:40,3\n");
    ck_assert(!cw_air_log_has_wind(&air));
    ck_assert(!cw_air_log_wind(&air, 1e9, 0, &along_ms, &cross_ms));
    ck_assert(!cw_air_log_mean_wind(&air, 1e9 - 60, 1e9, 0, &along_ms, &cross_ms, &share));
}
END_TEST

/* Three minutes of log; runs of a minute. */
START_TEST(a_clock_that_is_off_is_told) {
    must_read("time,wind_along_ms\n" DAY "46:40,1\n" DAY "47:40,1\n" DAY "48:40,1\n");
    static const struct {
        double off_h, told_h;
    } clocks[] = {{0, 0},     {1, 1},       {-2, -2},  {5.5, 5.5},   {-3.5, -3.5}, {14, 14},
                  {-14, -14}, {13.5, 13.5}, {15, NAN}, {-14.5, NAN}, {5.75, NAN}};
    for (size_t i = 0; i < sizeof clocks / sizeof *clocks; i++) {
        double from_s[2], to_s[2];
        for (int k = 0; k < 2; k++) {
            from_s[k] = 1e9 + clocks[i].off_h * 3600 - 40 + 70 * k;
            to_s[k] = from_s[k] + 60;
        }
        double shift_h = cw_air_log_shift_h(&air, from_s, to_s, 2);
        ck_assert_msg(shift_h == clocks[i].told_h || (isnan(shift_h) && isnan(clocks[i].told_h)),
                      "%g h told of %g h", shift_h, clocks[i].off_h);
        if (isnan(shift_h)) continue;
        to_s[1] += 600; /* held by less than half */
        ck_assert(isnan(cw_air_log_shift_h(&air, from_s, to_s, 2)));
    }
}
END_TEST

/* ---- faults ---- */

#define ROWS "\n" DAY "46:40,1\n" DAY "47:40,1\n"

static const struct {
    const char *text;
    long line;
    const char *message;
} faults[] = {
    {"", 0, "is empty: an air log is a header, such as time,wind_along_ms, and rows"},
    {"\n\r\n  \n", 0, "is empty: an air log is a header, such as time,wind_along_ms, and rows"},
    {"time,wind_along_ms\n", 0, "holds a header and no rows: is it whole?"},
    {"time,wind_along_ms\n" DAY "46:40,1\n", 0,
     "holds one row, which cannot say since when its means are: give two, or put its values into "
     "[air]"},
    {"time,wind_along_ms\n" DAY "46:40,\n" DAY "47:40,\n", 0, "holds no value, only times"},
    {"<?xml version=\"1.0\"?>\n<gpx>\n", 1,
     "this is no log but XML, perhaps a recording: those stand in recordings; a log is CSV, such "
     "as "
     "time,wind_along_ms and rows"},
    {DAY "46:40,1\n", 1,
     "the log has no header: put a row of the columns' names above, such as time,wind_along_ms"},
    {"Date,wind_along_ms" ROWS, 1,
     "no column of the header is called \"time\"; it begins with \"Date\""},
    {"time" ROWS, 1,
     "no column beside \"time\" is known: name one \"wind_along_ms\", \"wind_speed_ms\" with "
     "\"wind_from_deg\", \"temperature_c\", \"pressure_hpa\" or \"humidity_percent\""},
    {"time,time" ROWS, 1, "column \"time\" stands twice: leave one"},
    {"time,temperature_c,x,temperature_c\n", 1, "column \"temperature_c\" stands twice: leave one"},
    {"wind_speed_kn,time,wind_speed_ms,wind_from_deg\n", 1,
     "columns \"wind_speed_kn\" and \"wind_speed_ms\" say the same: leave one"},
    {"time,wind_along_ms,wind_speed_mph,wind_from_deg\n", 1,
     "wind is given by \"wind_along_ms\" and by \"wind_speed_mph\": give one or the other"},
    {"time,wind_from_deg,wind_along_ms\n", 1,
     "wind is given by \"wind_along_ms\" and by \"wind_from_deg\": give one or the other"},
    {"time,wind_speed_kmh\n", 1,
     "column \"wind_speed_kmh\" stands without \"wind_from_deg\": give both, or "
     "\"wind_along_ms\""},
    {"time,wind_from_deg\n", 1,
     "column \"wind_from_deg\" stands without \"wind_speed_ms\": give both, or \"wind_along_ms\""},
    {"time,wind_speed_knots,wind_from_deg\n", 1,
     "column \"wind_speed_knots\" ends in no known unit: the nearest known is \"wind_speed_kn\""},
    {"time,temperature_f\n", 1,
     "column \"temperature_f\" ends in no known unit: the nearest known is \"temperature_c\""},
    {"time,pressure\n", 1,
     "column \"pressure\" ends in no known unit: the nearest known is \"pressure_hpa\""},
    {"time,wind_along_ms\n" DAY "46:40,1,2\n", 2,
     "the row has 3 cells, the header 2: decimal commas need semicolons between the cells"},
    {"time,wind_along_ms\n\n" DAY "46:40\n", 3,
     "the row has 1 cell, the header 2: give a cell for each column, blank where nothing was "
     "measured"},
    {"time;wind_along_ms\n" DAY "46:40;1;2\n", 2,
     "the row has 3 cells, the header 2: give a cell for each column, blank where nothing was "
     "measured"},
    {"time,wind_along_ms\n" DAY "46:40,\"1,5\"\n", 2,
     "wind_along_ms is \"1,5\": give a number from -40 to 40 m/s with a point; decimal commas need "
     "semicolons between the cells"},
    {"time,wind_along_ms\n" DAY "46:40,NaN\n", 2,
     "wind_along_ms is \"NaN\": give a number from -40 to 40 m/s, or leave the cell blank"},
    {"time;pressure_hpa\n" DAY "46:40;1.013,2\n", 2,
     "pressure_hpa is \"1.013,2\": give a number from 600 to 1100 hPa, or leave the cell blank"},
    {"time,wind_along_ms\n" DAY "46:40,-40.1\n", 2,
     "wind_along_ms is -40.1: it must be from -40 to 40 m/s"},
    {"time,wind_speed_ms,wind_from_deg\n" DAY "46:40,80,1\n", 2,
     "wind_speed_ms is 80: it must be from 0 to 40 m/s"},
    {"time,wind_speed_kmh,wind_from_deg\n" DAY "46:40,144.1,1\n", 2,
     "wind_speed_kmh is 144.1: it must be from 0 to 144 km/h"},
    {"time,wind_speed_ms,wind_from_deg\n" DAY "46:40,-1,1\n", 2,
     "wind_speed_ms is -1: it must be from 0 to 40 m/s"},
    {"time,wind_speed_ms,wind_from_deg\n" DAY "46:40,8,361\n", 2,
     "wind_from_deg is 361: it must be from 0 to 360 degrees"},
    {"time,temperature_c\n" DAY "46:40,68\n", 2,
     "temperature_c is 68: it must be from -40 to 50 °C"},
    {"time,pressure_hpa\n" DAY "46:40,29.92\n", 2,
     "pressure_hpa is 29.92: it must be from 600 to 1100 hPa"},
    {"time,humidity_percent\n" DAY "46:40,101\n", 2,
     "humidity_percent is 101: it must be from 0 to 100 %"},
    {"time,wind_along_ms\n11.5.2024 9:30,1\n", 2,
     "time is \"11.5.2024 9:30\": write it as 2024-05-11T09:30:00 or, with its offset from UTC, as "
     "2024-05-11T09:30:00+02:00"},
    {"time,wind_along_ms\n,1\n", 2, "the row has no time"},
    {"time,wind_along_ms\n" DAY "46:40,1\n\n" DAY "46:40,1\n", 4,
     "time is \"" DAY "46:40\", which is not after " DAY "46:40Z in line 2: put the rows in order, "
     "each with a time of its own"},
    {"time,wind_along_ms\n" DAY "46:40,1\n" DAY "45:40,1\n", 3,
     "time is \"" DAY "45:40\", which is not after " DAY "46:40Z in line 2: put the rows in order, "
     "each with a time of its own"},
    {"time,wind_along_ms\n" DAY "46:40,\"1\n" DAY "47:40,1\n", 2,
     "a quotation mark is not closed on its line: close it with \""},
    {"time,\"wind_along_ms\" x\n", 1, "text follows a closing quotation mark in its cell"},
    {"time,wind_along_ms\n" DAY "46:40,\x1b[31m\n", 2,
     "the line holds a control character: save the log as CSV text in UTF-8"},
    {"time,wind_along_ms\n" DAY "46:40,\xc2\x9b\xff\n", 2,
     "wind_along_ms is \"??\": give a number from -40 to 40 m/s, or leave the cell blank"},
    {"\xff,wind_along_ms" ROWS, 1,
     "no column of the header is called \"time\"; it begins with \"?\""},
};

START_TEST(each_fault_has_its_line) {
    enum cw_status status = read_text(faults[_i].text);
    ck_assert_msg(status == CW_E_FORMAT, "read: %s", faults[_i].text);
    ck_assert_str_eq(error.message, faults[_i].message);
    ck_assert_int_eq(error.line, faults[_i].line);
    ck_assert_str_eq(error.file, "station.csv");
    ck_assert_int_eq(error.code, CW_E_FORMAT);
}
END_TEST

START_TEST(bytes_of_zero_are_refused) {
    static const char utf16[] = "t\0i\0m\0e\0,\0\n\0";
    ck_assert_int_eq(cw_air_log_read_memory(utf16, sizeof utf16 - 1, "a", 0, &air, &error),
                     CW_E_FORMAT);
    ck_assert_int_eq(error.line, 1);
    ck_assert_str_eq(error.message,
                     "the line holds a control character: save the log as CSV text in UTF-8");
}
END_TEST

/* Fills a line to so many bytes, or so many cells. */
START_TEST(lines_and_rows_have_a_most) {
    for (int more = 0; more < 2; more++) {
        struct cw_text text = {0};
        cw_text_add(&text, "time,wind_along_ms,x");
        while (text.length < (size_t)CW_CELLS_LINE_LONGEST + (size_t)more) cw_text_add(&text, "x");
        cw_text_add(&text, "\r\n" DAY "46:40,1,\r\n" DAY "47:40,1,\r\n");
        ck_assert_int_eq(cw_air_log_read_memory(text.bytes, text.length, "a", 0, &air, &error),
                         more ? CW_E_FORMAT : CW_OK);
        cw_air_log_free(&air);
        cw_text_free(&text);
        cw_text_add(&text, "time,wind_along_ms");
        for (int i = 2; i < CW_CELLS_MOST + more; i++) cw_text_add(&text, ",");
        cw_text_add(&text, "\n");
        ck_assert_int_eq(cw_air_log_read_memory(text.bytes, text.length, "a", 0, &air, &error),
                         CW_E_FORMAT);
        ck_assert_str_eq(error.message, more
                                            ? "the row has more than 256 cells: is this an air log?"
                                            : "holds a header and no rows: is it whole?");
        cw_air_log_free(&air);
        cw_text_free(&text);
    }
}
END_TEST

/* A buffer full to its last byte with a line that ends in CR. */
START_TEST(a_line_as_long_as_the_buffer_is_refused) {
    size_t size = 4 * CW_CELLS_LINE_LONGEST;
    char *text = malloc(size + 1);
    ck_assert_ptr_nonnull(text);
    memset(text, 'x', size);
    text[size - 1] = '\r';
    text[size] = '\n';
    ck_assert_int_eq(cw_air_log_read_memory(text, size + 1, "a", 0, &air, &error), CW_E_FORMAT);
    ck_assert_str_eq(error.message, "the line is longer than 16384 bytes: is this an air log?");
    free(text);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("outing_air_log");
    TCase *reading = tcase_create("reading"), *asked = tcase_create("asked"),
          *refused = tcase_create("refused");
    tcase_add_checked_fixture(reading, begin, end);
    tcase_add_test(reading, columns_are_read_in_si);
    tcase_add_test(reading, each_unit_of_speed_is_known);
    tcase_add_test(reading, all_kinds_of_csv_are_read_alike);
    tcase_add_test(reading, a_time_without_an_offset_is_the_outings);
    tcase_add_test(reading, unused_columns_are_named);
    tcase_add_test(reading, gzip_is_read_and_a_cut_one_refused);
    tcase_add_loop_test(reading, lines_are_whole_wherever_the_buffer_ends, 0, 3);
    tcase_add_test(reading, a_row_after_a_gap_holds_a_usual_step);
    suite_add_tcase(suite, reading);
    tcase_add_checked_fixture(asked, begin, end);
    tcase_add_test(asked, wind_by_direction_is_parted_by_the_heading);
    tcase_add_test(asked, wind_is_linear_between_rows_and_none_in_gaps);
    tcase_add_test(asked, means_are_by_what_rows_hold_of_a_span);
    tcase_add_test(asked, mean_wind_is_of_its_parts);
    tcase_add_test(asked, a_clock_that_is_off_is_told);
    suite_add_tcase(suite, asked);
    tcase_add_checked_fixture(refused, begin, end);
    tcase_add_loop_test(refused, each_fault_has_its_line, 0, (int)(sizeof faults / sizeof *faults));
    tcase_add_test(refused, bytes_of_zero_are_refused);
    tcase_add_test(refused, lines_and_rows_have_a_most);
    tcase_add_test(refused, a_line_as_long_as_the_buffer_is_refused);
    suite_add_tcase(suite, refused);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
