#include <check.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "base/write.h"
#include "outing/keys.h"
#include "outing/read.h"
#include "outing/write.h"

/* The tests stand in a folder of their own that holds two (empty) recordings. */
static char folder[64];
static struct cw_outing outing;
static struct cw_error error;

static void touch(const char *name) {
    ck_assert_int_eq(cw_file_write(name, "", 0, &error), CW_OK);
}

static void begin(void) {
    strcpy(folder, "/tmp/outing-test-XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(folder));
    ck_assert_int_eq(chdir(folder), 0);
    touch("morning.tcx.gz");
    touch("later ride.gpx");
    memset(&error, 0, sizeof error);
}

static void end(void) {
    cw_outing_free(&outing);
    unlink("morning.tcx.gz");
    unlink("later ride.gpx");
    unlink("written.ini");
    ck_assert_int_eq(chdir("/"), 0);
    ck_assert_int_eq(rmdir(folder), 0);
}

static enum cw_status read_text(const char *text) {
    return cw_outing_read_memory(text, strlen(text), "test.ini", &outing, &error);
}

/* What was read is written, and read again. */
static void read_again(void) {
    ck_assert_int_eq(cw_outing_write(&outing, "written.ini", NULL, &error), CW_OK);
    cw_outing_free(&outing);
    ck_assert_msg(cw_outing_read("written.ini", &outing, &error) == CW_OK, "%ld: %s", error.line,
                  error.message);
}

#define MASSES "[rider]\nmass_kg = 71.5\n[bike]\nmass_kg = 9.2\n"
#define LEAST "[outing]\nrecordings = morning.tcx.gz\n" MASSES /* 6 lines */

static const char whole[] = "; a first try\n"
                            "[outing]\n"
                            "name = Mühlbach lane, first try ; invented\n"
                            "recordings = morning.tcx.gz,\n"
                            "  later ride.gpx\n"
                            "elevation = satellite\n"
                            "[rider]\n"
                            "mass_kg = 71.5\n"
                            "mass_uncertainty_kg = 0.3\n"
                            "[bike]\n"
                            "mass_kg = 9.2\n"
                            "mass_uncertainty_kg = 0.15\n"
                            "wheel_inertia_kgm2 = 0.12\n"
                            "wheel_radius_m = 0.341\n"
                            "[air]\n"
                            "temperature_c = 9.5\n"
                            "temperature_uncertainty_c = 0.7\n"
                            "pressure_hpa = 987.0\n"
                            "pressure_uncertainty_hpa = 0.4\n"
                            "humidity_percent = 70\n"
                            "humidity_uncertainty_percent = 5\n"
                            "lapse_k_km = 9.2\n"
                            "lapse_uncertainty_k_km = 1.5\n"
                            "wind_along_ms = -0.25\n"
                            "wind_uncertainty_ms = 0.2\n"
                            "[runs]\n"
                            "order = cape jäckchen\n"
                            "  jäckchen, cape ; the last two\n"
                            "\n"
                            "  ; nothing\n"
                            "  cape\n"
                            "skip = 3 11\n"
                            "[setup cape]\n"
                            "description = rain cape, open\n"
                            "load_kg = 0.4\n"
                            "tyres = a\n"
                            "drag = same\n"
                            "[setup jäckchen]\n"
                            "[rolling]\n"
                            "crr = 0.0052\n"
                            "crr_uncertainty = 0.0004\n";

static void check_whole(void) {
    ck_assert_str_eq(outing.name, "Mühlbach lane, first try");
    ck_assert_uint_eq(outing.n_recordings, 2);
    ck_assert_str_eq(outing.recordings[0], "morning.tcx.gz");
    ck_assert_str_eq(outing.recordings[1], "later ride.gpx");
    ck_assert_int_eq(outing.elevation, CW_ELEVATION_SATELLITE);
    ck_assert_double_eq(outing.rider.mass_kg, 71.5);
    ck_assert_double_eq(outing.rider.mass_uncertainty_kg, 0.3);
    ck_assert_double_eq(outing.rider.bike_mass_kg, 9.2);
    ck_assert_double_eq(outing.rider.bike_mass_uncertainty_kg, 0.15);
    ck_assert_double_eq(outing.rider.wheel_inertia_kgm2, 0.12);
    ck_assert_double_eq(outing.rider.wheel_radius_m, 0.341);
    ck_assert_double_eq(outing.air.temperature_c, 9.5);
    ck_assert_double_eq(outing.air.temperature_uncertainty_c, 0.7);
    ck_assert_double_eq(outing.air.pressure_hpa, 987);
    ck_assert_double_eq(outing.air.pressure_uncertainty_hpa, 0.4);
    ck_assert_double_eq(outing.air.humidity_percent, 70);
    ck_assert_double_eq(outing.air.humidity_uncertainty_percent, 5);
    ck_assert_double_eq(outing.air.lapse_k_km, 9.2);
    ck_assert_double_eq(outing.air.lapse_uncertainty_k_km, 1.5);
    ck_assert_double_eq(outing.wind_along_ms, -0.25);
    ck_assert_double_eq(outing.wind_uncertainty_ms, 0.2);
    ck_assert_double_eq(outing.crr, 0.0052);
    ck_assert_double_eq(outing.crr_uncertainty, 0.0004);
    ck_assert_uint_eq(outing.n_setups, 2);
    ck_assert_str_eq(outing.setups[0].name, "cape");
    ck_assert_str_eq(outing.setups[0].description, "rain cape, open");
    ck_assert_double_eq(outing.setups[0].load_kg, 0.4);
    ck_assert_str_eq(outing.setups[0].tyres, "a");
    ck_assert_str_eq(outing.setups[0].drag, "same");
    ck_assert_str_eq(outing.setups[1].name, "jäckchen");
    ck_assert_str_eq(outing.setups[1].description, "");
    ck_assert_double_eq(outing.setups[1].load_kg, 0);
    ck_assert_str_eq(outing.setups[1].tyres, "all");
    ck_assert_str_eq(outing.setups[1].drag, "");
    const size_t order[] = {0, 1, 1, 0, 0};
    ck_assert_uint_eq(outing.order.n, 5);
    ck_assert_mem_eq(outing.order.setup, order, sizeof order);
    ck_assert_uint_eq(outing.skip.n, 2);
    ck_assert_int_eq(outing.skip.number[0], 3);
    ck_assert_int_eq(outing.skip.number[1], 11);
}

START_TEST(everything_is_read) {
    ck_assert_msg(read_text(whole) == CW_OK, "%ld: %s", error.line, error.message);
    check_whole();
    ck_assert_int_eq(outing.order.line, 27);
    ck_assert_int_eq(outing.skip.line, 32);
    ck_assert_uint_eq(outing.n_defaults, 2); /* the second setup's load and tyres */
    ck_assert_str_eq(outing.defaults[0], "[setup jäckchen] load_kg: 0 kg");
    ck_assert_str_eq(outing.defaults[1], "[setup jäckchen] tyres: all");
}
END_TEST

/* The same text with other line ends, with a byte order mark, and without a last line end. */
START_TEST(line_ends_and_mark_do_not_matter) {
    static const char *const ends[] = {"\r\n", "\r", "\n"};
    for (size_t i = 0; i < 3; i++) {
        struct cw_text text = {0};
        cw_text_add(&text, "\xef\xbb\xbf");
        for (const char *c = whole; c[1]; c++) {
            if (*c == '\n')
                cw_text_add(&text, "%s", ends[i]);
            else
                cw_text_add_bytes(&text, c, 1);
        }
        ck_assert_msg(read_text(text.bytes) == CW_OK, "%ld: %s", error.line, error.message);
        check_whole();
        ck_assert_int_eq(outing.order.line, 27);
        cw_text_free(&text);
        cw_outing_free(&outing);
    }
}
END_TEST

static bool says(const char *sentence) {
    for (size_t i = 0; i < outing.n_defaults; i++)
        if (!strcmp(outing.defaults[i], sentence)) return true;
    return false;
}

START_TEST(defaults_are_said) {
    ck_assert_msg(read_text(LEAST) == CW_OK, "%ld: %s", error.line, error.message);
    ck_assert_str_eq(outing.name, "test");
    ck_assert_int_eq(outing.elevation, CW_ELEVATION_BAROMETRIC);
    ck_assert_double_eq(outing.rider.wheel_inertia_kgm2, 0.14);
    ck_assert_double_eq(outing.rider.wheel_radius_m, 0.334);
    ck_assert(isnan(outing.air.temperature_c) && isnan(outing.air.pressure_hpa));
    ck_assert(isnan(outing.air.humidity_percent));
    ck_assert_double_eq(outing.air.temperature_uncertainty_c, 8); /* 1 where it was measured */
    ck_assert_double_eq(outing.wind_along_ms, 0);
    ck_assert(isnan(outing.crr) && isnan(outing.crr_uncertainty));
    ck_assert_uint_eq(outing.n_setups, 1);
    ck_assert_str_eq(outing.setups[0].name, "all");
    ck_assert_uint_eq(outing.order.n, 0);
    ck_assert_int_eq(outing.order.line, 0);
    ck_assert(says("[outing] name: test"));
    ck_assert(says("[bike] wheel_radius_m: 0.334 m"));
    ck_assert(says("[air] temperature_c: standard atmosphere at the recorded height"));
    ck_assert(says("[air] wind_uncertainty_ms: 0.3 m/s"));
    cw_outing_free(&outing);
    ck_assert_int_eq(read_text(LEAST "[air]\ntemperature_c = 20\n"), CW_OK);
    ck_assert_double_eq(outing.air.temperature_uncertainty_c, 1);
    ck_assert(says("[air] temperature_uncertainty_c: 1 °C"));
}
END_TEST

START_TEST(a_recording_has_air_of_its_own) {
    static const char text[] = "[outing]\nrecordings = morning.tcx.gz, later ride.gpx\n" MASSES
                               "[air later ride.gpx]\ntemperature_c = 14\n"
                               "[air]\ntemperature_c = 9\nwind_along_ms = 0.4\n";
    for (int written = 0; written < 2; written++) {
        if (written) {
            read_again();
        } else {
            ck_assert_msg(read_text(text) == CW_OK, "%ld: %s", error.line, error.message);
            ck_assert(says("[air later ride.gpx] temperature_uncertainty_c: 1 °C"));
        }
        ck_assert_double_eq(outing.air.temperature_c, 9);
        ck_assert_uint_eq(outing.n_own_air, 1);
        ck_assert_uint_eq(outing.own_air[0].recording, 1);
        ck_assert_double_eq(outing.own_air[0].air.temperature_c, 14);
        ck_assert_double_eq(outing.own_air[0].air.temperature_uncertainty_c, 1);
        ck_assert(isnan(outing.own_air[0].air.pressure_hpa));
        ck_assert(isnan(outing.own_air[0].air.humidity_uncertainty_percent));
    }
}
END_TEST

#define COMPANION                                                                                  \
    "[outing]\nrecordings = morning.tcx.gz, later ride.gpx\n" MASSES                               \
    "[recording later ride.gpx]\nrider = friend\nsetup = friend\n"                                 \
    "[rider friend]\nmass_kg = 64\n[bike friend]\nmass_kg = 8.5\n[setup friend]\ntyres = friend\n"

START_TEST(a_companion_has_masses_and_a_setup) {
    for (int written = 0; written < 2; written++) {
        if (written) {
            read_again();
        } else {
            ck_assert_msg(read_text(COMPANION "load_kg = 2\n[setup cape]\n") == CW_OK, "%ld: %s",
                          error.line, error.message);
            ck_assert(says("[rider friend] mass_uncertainty_kg: 0.5 kg"));
            ck_assert(says("[bike friend] wheel_radius_m: 0.334 m"));
        }
        ck_assert_uint_eq(outing.n_companions, 1);
        ck_assert_str_eq(outing.companions[0].name, "friend");
        ck_assert_double_eq(outing.companions[0].mass_kg, 64);
        ck_assert_double_eq(outing.companions[0].bike_mass_kg, 8.5);
        ck_assert_uint_eq(cw_outing_rider_of(&outing, 0), 0);
        ck_assert_uint_eq(cw_outing_rider_of(&outing, 1), 1);
        ck_assert_uint_eq(outing.setups[0].rider, 1);
        ck_assert_uint_eq(outing.setups[1].rider, 0);
        ck_assert_uint_eq(outing.own_recordings[0].setup, 0);
        ck_assert_double_eq_tol(cw_outing_bicycle(&outing, 1, 0).mass_kg, 74.5, 1e-12);
        ck_assert_double_eq_tol(cw_outing_bicycle(&outing, 0, CW_NO_SETUP).mass_kg, 80.7, 1e-12);
    }
}
END_TEST

START_TEST(notes_stand_beside_the_runs) {
    static const char text[] =
        LEAST "[setup a]\n[setup b]\n[runs]\norder = a b b a\nstart = mark\n"
              "wind_along_ms = 0.2 -0.1\n  - 0.4 ; by the hedge\nrunout_m = 12.4 10.1 9.8 -\n"
              "runout_uncertainty_m = 0.05\ntime_s = 46.2, 44.8, 45.0, 46.1\n";
    for (int written = 0; written < 2; written++) {
        if (written) {
            read_again();
        } else {
            ck_assert_msg(read_text(text) == CW_OK, "%ld: %s", error.line, error.message);
            ck_assert_int_eq(outing.wind_ms.line, 12);
            ck_assert(says("[runs] wind_uncertainty_ms: 0.3 m/s"));
            ck_assert(!says("[runs] runout_uncertainty_m: 0.1 m"));
        }
        ck_assert(outing.starts_at_mark);
        ck_assert_uint_eq(outing.wind_ms.n, 4);
        ck_assert_double_eq(outing.wind_ms.value[1], -0.1);
        ck_assert(isnan(outing.wind_ms.value[2]));
        ck_assert_double_eq(outing.wind_ms.value[3], 0.4);
        ck_assert_double_eq(outing.wind_ms.uncertainty, 0.3);
        ck_assert_double_eq(outing.runout_m.uncertainty, 0.05);
        ck_assert(isnan(outing.runout_m.value[3]));
        ck_assert_double_eq(outing.time_s.value[3], 46.1);
        ck_assert_double_eq(outing.time_s.uncertainty, 0.2);
    }
}
END_TEST

START_TEST(an_air_log_lies_beside_the_outing) {
    ck_assert_int_eq(read_text("[outing]\nrecordings = morning.tcx.gz\nair_log = later ride.gpx\n"
                               "utc_offset = -03:30\n" MASSES),
                     CW_OK);
    ck_assert_str_eq(outing.air_log, "later ride.gpx");
    ck_assert_int_eq(outing.air_log_line, 3);
    ck_assert_double_eq(outing.utc_offset_s, -12600);
    read_again();
    ck_assert_str_eq(outing.air_log, "later ride.gpx");
    ck_assert_double_eq(outing.utc_offset_s, -12600);
}
END_TEST

/* UTC that is said is not UTC for want of anything else: a recording may say another offset. */
START_TEST(an_offset_of_nothing_is_an_offset) {
    ck_assert_int_eq(read_text("[outing]\nrecordings = morning.tcx.gz\n" MASSES), CW_OK);
    ck_assert(!outing.utc_offset_given);
    read_again();
    ck_assert(!outing.utc_offset_given);
    cw_outing_free(&outing);
    ck_assert_int_eq(
        read_text("[outing]\nrecordings = morning.tcx.gz\nutc_offset = +00:00\n" MASSES), CW_OK);
    ck_assert(outing.utc_offset_given);
    read_again();
    ck_assert(outing.utc_offset_given && outing.utc_offset_s == 0);
}
END_TEST

START_TEST(a_level_road_says_how_level) {
    ck_assert_int_eq(read_text("[outing]\nelevation = level\nrecordings = morning.tcx.gz\n" MASSES),
                     CW_OK);
    ck_assert_int_eq(outing.elevation, CW_ELEVATION_LEVEL);
    ck_assert_double_eq(outing.elevation_uncertainty_m, 0.1);
    ck_assert(says("[outing] elevation_uncertainty_m: 0.1 m over the road"));
    cw_outing_free(&outing);
    ck_assert_int_eq(read_text("[outing]\nelevation = level\nelevation_uncertainty_m = 0.03\n"
                               "recordings = morning.tcx.gz\n" MASSES),
                     CW_OK);
    ck_assert_double_eq(outing.elevation_uncertainty_m, 0.03);
    cw_outing_free(&outing);
    ck_assert_int_eq(read_text("[outing]\nelevation = terrain\n"
                               "recordings = morning.tcx.gz\n" MASSES),
                     CW_OK);
    ck_assert_int_eq(outing.elevation, CW_ELEVATION_TERRAIN);
    ck_assert(isnan(outing.elevation_uncertainty_m));
}
END_TEST

START_TEST(pressures_are_of_tyres) {
    static const char *const text = LEAST "[setup a]\ntyres = narrow\npressure_psi = 70\n"
                                          "[setup b]\ntyres = wide\npressure_kpa = 300\n"
                                          "[setup c]\ntyres = narrow\n[setup d]\ntyres = old\n"
                                          "[runs]\norder = a b c d\n";
    ck_assert_msg(read_text(text) == CW_OK, "%ld: %s", error.line, error.message);
    for (int again = 0; again < 2; again++) {
        /* 1 psi is 6.894 757 kPa (NIST SP 811, appendix B.8) */
        ck_assert_double_eq_tol(outing.setups[0].pressure_kpa, 482.633, 1e-3);
        ck_assert_double_eq(outing.setups[1].pressure_kpa, 300);
        ck_assert(isnan(outing.setups[2].pressure_kpa));
        ck_assert_double_eq_tol(cw_outing_pressure_kpa(&outing, "narrow"), 482.633, 1e-3);
        ck_assert_double_eq(cw_outing_pressure_kpa(&outing, "wide"), 300);
        ck_assert(isnan(cw_outing_pressure_kpa(&outing, "old")));
        ck_assert(isnan(cw_outing_pressure_kpa(&outing, "none")));
        for (size_t i = 0; i < outing.n_defaults; i++)
            ck_assert_ptr_null(strstr(outing.defaults[i], "pressure_psi"));
        if (!again) read_again();
    }
}
END_TEST

/* Pounds, degrees Fahrenheit and inches of mercury become what the file would say in SI; a pressure
 * at sea level stays one. */
START_TEST(other_units_stand_for_ours) {
    static const char *const text =
        "[outing]\nrecordings = morning.tcx.gz\n[rider]\nmass_lb = 154.5\n[bike]\nmass_lb = 20.5\n"
        "[air]\ntemperature_f = 50.9\npressure_inhg = 28.85\n[air morning.tcx.gz]\n"
        "pressure_sea_level_hpa = 1021.5\n[setup a]\nload_lb = 4.25\n";
    ck_assert_msg(read_text(text) == CW_OK, "%ld: %s", error.line, error.message);
    for (int again = 0; again < 2; again++) {
        ck_assert_double_eq_tol(outing.rider.mass_kg, 154.5 * 0.45359237, 1e-6);
        ck_assert_double_eq_tol(outing.rider.bike_mass_kg, 20.5 * 0.45359237, 1e-6);
        ck_assert_double_eq_tol(outing.air.temperature_c, 10.5, 1e-6);
        ck_assert_double_eq_tol(outing.air.pressure_hpa, 28.85 * 33.86389, 1e-4);
        ck_assert_double_eq(outing.air.temperature_uncertainty_c, 1); /* it is given */
        ck_assert_double_eq(outing.air.pressure_uncertainty_hpa, 1);
        ck_assert_double_eq_tol(outing.setups[0].load_kg, 4.25 * 0.45359237, 1e-6);
        ck_assert(isnan(outing.own_air[0].air.pressure_hpa));
        ck_assert_double_eq(outing.own_air[0].air.pressure_sea_level_hpa, 1021.5);
        ck_assert_double_eq(outing.own_air[0].air.pressure_uncertainty_hpa, 3); /* reduced */
        for (size_t i = 0; i < outing.n_defaults; i++)
            ck_assert_msg(!strstr(outing.defaults[i], " mass_kg:") &&
                              !strstr(outing.defaults[i], "temperature_c:") &&
                              !strstr(outing.defaults[i], "pressure_hpa:"),
                          "%s", outing.defaults[i]);
        if (!again) read_again();
    }
}
END_TEST

static const struct {
    const char *text;
    long line;
    const char *message; /* a part of it */
} faults[] = {
    {LEAST "[air]\npressure_hpa = 980\npressure_sea_level_hpa = 1020\n", 9,
     "pressure_sea_level_hpa is what line 8 says as pressure_hpa: give one of them"},
    {LEAST "[air]\npressure_sea_level_hpa = 1020\npressure_inhg = 29\n", 9,
     "pressure_inhg is what line 8 says as pressure_sea_level_hpa: give one of them"},
    {LEAST "[air]\ntemperature_f = 130\n", 8,
     "temperature_f is 130 °F: it must be from -40 to 122"},
    {LEAST "[setup a]\nload_kg = 1\nload_lb = 2\n", 9,
     "load_lb is what line 8 says as load_kg: give one of them"},
    {"[outing]\nrecordings = morning.tcx.gz, gone.gpx\n" MASSES, 2, "\"gone.gpx\" cannot be read"},
    {"[outing]\nrecordings = morning.tcx.gz,\n  gone.gpx\n" MASSES, 3, "\"gone.gpx\""},
    {"[outing]\nrecordings = morning.tcx.gz, morning.tcx.gz\n" MASSES, 2, "named twice"},
    {"[outing]\nrecordings =\n" MASSES, 2, "recordings is empty"},
    {"[outing]\nname = x\n" MASSES, 0, "recordings is missing from [outing]"},
    {"[outing]\nrecordings = morning.tcx.gz\n[bike]\nmass_kg = 9\n", 0,
     "mass_kg is missing from [rider]"},
    {LEAST "[air]\ntemprature_c = 3\n", 8, "the nearest known is \"temperature_c\""},
    {LEAST "[ari]\n", 7, "unknown section [ari]; the nearest known is [air]"},
    {LEAST "[Setup x]\n", 7, "the nearest known is [setup NAME]"},
    {LEAST "[air]\nload_kg = 3\n", 8, "it belongs in [setup NAME]"},
    {"[outing]\nrecordings = morning.tcx.gz\n[rider]\nmass_kg = 715\n", 4,
     "mass_kg is 715 kg: it must be from 20 to 250 kg"},
    {LEAST "[air]\npressure_hpa = 98.7\n", 8, "from 600 to 1100 hPa"},
    {LEAST "[air]\ntemperature_c = 9,5\n", 8, "temperature_c is \"9,5\": give a number"},
    {LEAST "[air]\ntemperature_c = nan\n", 8, "give a number"},
    {LEAST "[air]\ntemperature_c =\n", 8, "temperature_c is empty"},
    {LEAST "[air]\ntemperature_c = 3\n  4\n", 9, "temperature_c takes one line"},
    {LEAST "[air]\ntemperature_c = 3\n  pressure_hpa = 990\n", 9, "takes one line"},
    {LEAST "[air]\ntemperature_c = 3\nwind_along_ms = 0\ntemperature_c = 4\n", 10,
     "given twice, first in line 8"},
    {LEAST "[rider]\n", 7, "[rider] appears twice, first in line 3"},
    {LEAST "[setup a]\n[setup b]\n[setup a]\n", 9, "\"a\" is declared twice, first in line 7"},
    {LEAST "[setup]\n", 7, "write [setup NAME]"},
    {LEAST "[setup a b]\n", 7, "one word"},
    {LEAST "[setup a\n", 7, "no \"]\""},
    {LEAST "[setup a] load_kg = 1\n", 7, "text follows"},
    {LEAST "[setup a]\n  [setup b]\n", 8, "beginning of its line"},
    {LEAST "[setup cape]\n[runs]\norder = cape\n  cpae\n", 10, "the nearest is \"cape\""},
    {LEAST "[runs]\norder = cape\n", 8, "which no [setup cape] declares"},
    {LEAST "[runs]\norder =\n\n", 8, "order is empty"},
    {LEAST "[runs]\nskip = 1, two\n", 8, "skip holds \"two\""},
    {LEAST "[runs]\nskip = 0\n", 8, "from 1"},
    {LEAST "[runs]\nskip = 2 2\n", 8, "names run 2 twice"},
    {LEAST "[rolling]\ncrr_uncertainty = 0.001\n", 8, "give both or neither"},
    {"[outing]\nelevation = baro\n", 2, "the nearest is barometric"},
    {LEAST "[air morning.tcx]\ntemperature_c = 3\n", 7, "the nearest is \"morning.tcx.gz\""},
    {LEAST "[air morning.tcx.gz]\n[air morning.tcx.gz]\n", 8, "appears twice, first in line 7"},
    {LEAST "[air morning.tcx.gz]\nwind_along_ms = 1\n", 8, "of the whole outing"},
    {LEAST "[air morning.tcx.gz]\ntemperature_c = 99\n", 8, "from -40 to 50"},
    {LEAST "[air morning.tcx.gz]\ntemperature_c = 9\ntemperature_c = 9\n", 9, "given twice"},
    {LEAST "[air morning.tcx.gz]\nhumidity_uncertainty_percent = 9\n", 8, "give both or neither"},
    {"[outing]\nelevation = terain\n", 2, "the nearest is terrain"},
    {"[outing]\nelevation = level\nelevation_uncertainty_m = 0\n", 3, "from 0.001 to 50 m"},
    {"[outing]\nelevation = satellite\nelevation_uncertainty_m = 2\nrecordings = "
     "morning.tcx.gz\n" MASSES,
     3, "write elevation = level or terrain"},
    {"[outing]\nelevation_uncertainty_m = 2\nrecordings = morning.tcx.gz\n" MASSES, 2,
     "write elevation = level or terrain"},
    {COMPANION "[runs]\norder = friend\n", 7, "\"friend\" is ridden by two riders"},
    {LEAST "[rider friend]\nmass_kg = 60\n", 0, "[rider friend] rides no recording"},
    {LEAST "[recording morning.tcx.gz]\nrider = friend\n", 8,
     "rider is \"friend\", which no [rider friend] describes"},
    {LEAST "[recording morning.tcx.gz]\nrider = friend\n[rider friend]\nmass_kg = 60\n", 7,
     "in no setup: add setup = ..."},
    {LEAST "[setup a]\n[recording morning.tcx.gz]\nrider = friend\nsetup = a\n[rider friend]\n"
           "mass_kg = 60\n",
     0, "mass_kg is missing from [bike friend]"},
    {LEAST "[setup a]\n[recording morning.tcx.gz]\nsetup = a\norder = a a\n", 10,
     "has a setup and an order"},
    {LEAST "[setup a]\n[recording morning.tcx]\nsetup = a\n", 8,
     "[recording morning.tcx] is of no recording of this outing"},
    {LEAST "[setup a]\n[recording morning.tcx.gz]\nsetup = b\n", 9, "the nearest is \"a\""},
    {LEAST "[recording]\n", 7, "write [recording RECORDING]"},
    {LEAST "[runs]\nwind_along_ms = 0.1 some 0.3\n", 8,
     "wind_along_ms holds \"some\": give a number of m/s for each run"},
    {LEAST "[runs]\nwind_along_ms = 0.1\n 80\n", 9, "from -10 to 10 m/s"},
    {LEAST "[runs]\nwind_uncertainty_ms = 0.1\n", 8, "give both or neither"},
    {LEAST "[setup a]\npressure_kpa = 7\n", 8, "pressure_kpa is 7 kPa: it must be from 50 to 1500"},
    {LEAST "[setup a]\npressure_psi = 480\n", 8, "pressure_psi is 480 psi: it must be from 8 to"},
    {LEAST "[setup a]\npressure_kpa = 480\npressure_psi = 70\n", 9,
     "pressure_psi is what line 8 says as pressure_kpa: give one of them"},
    {LEAST "[setup a]\npressure_psi = 70\npressure_kpa = 480\n", 9,
     "pressure_kpa is what line 8 says as pressure_psi: give one of them"},
    {LEAST "[setup a]\npressure_psi = 70\npressure_psi = 71\n", 9, "given twice, first in line 8"},
    {LEAST "[setup a]\npressure_kpa = 480\n[setup b]\npressure_kpa = 520\n", 9,
     "setup b has its tyres \"all\" at 520 kPa, and another has them at 480 kPa"},
    {LEAST "[runs]\nruout_m = 3\n", 8, "the nearest known is \"runout_m\""},
    {LEAST "[runs]\nstart = gate\n", 8, "write mark where every run began standing"},
    {"[outing]\nair_log = gone.csv\nrecordings = morning.tcx.gz\n" MASSES, 2,
     "air log \"gone.csv\" cannot be read"},
    {"[outing]\nutc_offset = CET\n", 2, "give local time's offset from UTC as +01:00"},
    {"mass_kg = 3\n", 1, "before any section"},
    {LEAST "mass_kg\n", 7, "neither a section nor key = value"},
    {LEAST "mass_kg\nnonsense = 3\n", 7, "neither a section nor key = value"},
    {LEAST "nonsense = 3\nmass_kg\n", 7, "unknown key \"nonsense\""},
    {LEAST "[air]\n= 3\n", 8, "no key stands before"},
    {LEAST "; \x01\n", 7, "control character"},
    {LEAST "; M\xfchlbach\n", 7, "not UTF-8"},
    {"", 0, "recordings is missing"},
};

START_TEST(faults_name_the_line) {
    enum cw_status status = read_text(faults[_i].text);
    ck_assert_msg(status == CW_E_FORMAT || status == CW_E_READ, "%s", faults[_i].text);
    ck_assert_int_eq(error.code, status);
    ck_assert_str_eq(error.file, "test.ini");
    ck_assert_msg(strstr(error.message, faults[_i].message) != NULL, "%s: %s", faults[_i].text,
                  error.message);
    ck_assert_msg(error.line == faults[_i].line, "%ld: %s", error.line, error.message);
}
END_TEST

/* INI has no standard: these are the ways in which files of the kind are written by hand. */
START_TEST(a_line_may_be_written_in_several_ways) {
    ck_assert_msg(read_text("; of a day\n# and its air\n[outing] ; the first\r\n"
                            "recordings : morning.tcx.gz ; before nine\r" MASSES
                            "[setup a] # one\n  description=red; and blue \t\n"
                            "load_kg\t=\t2.5\t;bottles\n[runs]\norder = ; each\n\n  a ; up\n"
                            "  ; not a\n  a, a\n") == CW_OK,
                  "%ld: %s", error.line, error.message);
    ck_assert_str_eq(outing.setups[0].description, "red; and blue");
    ck_assert(outing.setups[0].load_kg == 2.5);
    ck_assert_uint_eq(outing.order.n, 3);
}
END_TEST

/* Cut at the longest, its end would be a line of its own. */
START_TEST(an_overlong_line_is_refused_by_number) {
    char text[1024] = LEAST "[setup a]\n[runs]\norder = a\n  ";
    for (int i = 0; i < 95; i++) strcat(text, "a ");
    ck_assert_int_eq(read_text(text), CW_E_FORMAT);
    ck_assert_int_eq(error.line, 10);
    ck_assert_ptr_nonnull(strstr(error.message, "190 bytes"));
    cw_outing_free(&outing);
    text[strlen(text) - 2] = '\0'; /* 190 bytes are taken */
    ck_assert_msg(read_text(text) == CW_OK, "%s", error.message);
    ck_assert_uint_eq(outing.order.n, 95);
}
END_TEST

/* As many as may be are read, and one more is named by its line. */
START_TEST(more_than_anybody_has_is_refused) {
    static const struct {
        const char *one, *says;
        size_t most;
        long line; /* where the first stands */
        int lines; /* that each takes */
    } list[] = {
        {"[setup s%zu]\n", "more than 100 setups", CW_OUTING_SETUPS_MAX, 7, 1},
        {"[rider r%zu]\nmass_kg = 70\n", "more than 100 riders", CW_OUTING_SETUPS_MAX, 7, 2}};
    for (size_t k = 0; k < sizeof list / sizeof *list; k++)
        for (size_t more = 0; more <= 1; more++) {
            struct cw_text text = {0};
            cw_text_add(&text, "%s", LEAST);
            for (size_t i = 0; i < list[k].most + more; i++) cw_text_add(&text, list[k].one, i);
            enum cw_status status = read_text(text.bytes);
            cw_text_free(&text);
            if (more) {
                ck_assert_int_eq(status, CW_E_FORMAT);
                ck_assert_int_eq(error.line, list[k].line + (long)list[k].most * list[k].lines);
                ck_assert_msg(strstr(error.message, list[k].says) != NULL, "%s", error.message);
            } else {
                /* A rider of no recording is another matter. */
                ck_assert_msg(!strstr(error.message, list[k].says), "%s", error.message);
            }
            cw_outing_free(&outing);
        }
    struct cw_text text = {0};
    cw_text_add(&text, "%s[runs]\nskip = 1\n", LEAST);
    for (int i = 2; i <= CW_OUTING_ITEMS_MAX + 1; i++) cw_text_add(&text, "  %d\n", i);
    ck_assert_int_eq(read_text(text.bytes), CW_E_FORMAT);
    cw_text_free(&text);
    ck_assert_ptr_nonnull(strstr(error.message, "more than 10000 entries"));
}
END_TEST

START_TEST(a_nul_is_refused) {
    const char text[] = LEAST "[setup a]\n[runs]\norder\0 = a\n";
    ck_assert_int_eq(cw_outing_read_memory(text, sizeof text - 1, "x.ini", &outing, &error),
                     CW_E_FORMAT);
    ck_assert_int_eq(error.line, 9);
}
END_TEST

START_TEST(paths_are_relative_to_the_file) {
    char path[128];
    snprintf(path, sizeof path, "%s/a.ini", folder);
    ck_assert_int_eq(chdir("/"), 0);
    ck_assert_msg(cw_outing_read_memory(LEAST, strlen(LEAST), path, &outing, &error) == CW_OK, "%s",
                  error.message);
    snprintf(path, sizeof path, "%s/morning.tcx.gz", folder);
    ck_assert_str_eq(outing.recordings[0], path);
    ck_assert_str_eq(outing.name, "a");
    ck_assert_int_eq(chdir(folder), 0);
}
END_TEST

START_TEST(what_is_written_reads_back) {
    ck_assert_int_eq(read_text(whole), CW_OK);
    outing.rider.wheel_radius_m = 1.0 / 3.0;
    ck_assert_msg(cw_outing_write(&outing, "written.ini", "invented\ntwo lines", &error) == CW_OK,
                  "%s", error.message);
    cw_outing_free(&outing);
    ck_assert_msg(cw_outing_read("written.ini", &outing, &error) == CW_OK, "%ld: %s", error.line,
                  error.message);
    ck_assert(outing.rider.wheel_radius_m == 1.0 / 3.0);
    outing.rider.wheel_radius_m = 0.341;
    check_whole();
}
END_TEST

START_TEST(every_kind_of_heights_reads_back) {
    for (int kind = 0; cw_elevation_text((enum cw_elevation)kind); kind++) {
        ck_assert_int_eq(read_text(LEAST), CW_OK);
        outing.elevation = (enum cw_elevation)kind;
        outing.elevation_given = true;
        if (kind == CW_ELEVATION_LEVEL) outing.elevation_uncertainty_m = 0.27;
        ck_assert_int_eq(cw_outing_write(&outing, "written.ini", NULL, &error), CW_OK);
        cw_outing_free(&outing);
        ck_assert_int_eq(cw_outing_read("written.ini", &outing, &error), CW_OK);
        ck_assert_int_eq(outing.elevation, kind);
        if (kind == CW_ELEVATION_LEVEL)
            ck_assert_double_eq(outing.elevation_uncertainty_m, 0.27);
        else
            ck_assert(isnan(outing.elevation_uncertainty_m));
        cw_outing_free(&outing);
    }
    ck_assert_int_eq(read_text(LEAST), CW_OK);
}
END_TEST

START_TEST(a_long_order_is_written_in_lines) {
    ck_assert_int_eq(read_text(LEAST "[setup a-rather-long-name]\n[setup b]\n"), CW_OK);
    outing.order.n = 500;
    outing.order.setup = calloc(500, sizeof *outing.order.setup);
    ck_assert_ptr_nonnull(outing.order.setup);
    for (size_t i = 0; i < 500; i++) outing.order.setup[i] = i % 3 == 1;
    read_again();
    ck_assert_uint_eq(outing.order.n, 500);
    for (size_t i = 0; i < 500; i++) ck_assert_uint_eq(outing.order.setup[i], i % 3 == 1);
}
END_TEST

START_TEST(what_cannot_stand_in_the_file_is_not_written) {
    static const char *const names[] = {"two\nlines", "a ; comment", " blank", "bell\a",
                                        "far too long for a line ................................."
                                        "........................................................."
                                        "........................................................."
                                        "......................................................."};
    ck_assert_int_eq(read_text(LEAST), CW_OK);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        free(outing.name);
        outing.name = strdup(names[i]);
        ck_assert_msg(cw_outing_write(&outing, "written.ini", NULL, &error) == CW_E_ARGUMENT, "%s",
                      names[i]);
        ck_assert_int_ne(access("written.ini", F_OK), 0);
    }
}
END_TEST

START_TEST(the_nearest_name_is_the_nearest) {
    const char *const names[] = {"mass_kg", "wheel_radius_m", "wheel_inertia_kgm2"};
    ck_assert_str_eq(cw_nearest("wheelradius", names, 3), "wheel_radius_m");
    ck_assert_str_eq(cw_nearest("MASS", names, 3), "mass_kg");
    ck_assert_str_eq(cw_nearest("mas_skg", names, 3), "mass_kg");
    ck_assert_ptr_null(cw_nearest("x", names, 0));
}
END_TEST

START_TEST(a_missing_file_is_said) {
    ck_assert_int_eq(cw_outing_read("nowhere.ini", &outing, &error), CW_E_READ);
    ck_assert_str_eq(error.file, "nowhere.ini");
    ck_assert_int_eq(cw_outing_read("/", &outing, &error), CW_E_READ);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("outing_outing");
    TCase *tests = tcase_create("outing file");
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, everything_is_read);
    tcase_add_test(tests, line_ends_and_mark_do_not_matter);
    tcase_add_test(tests, defaults_are_said);
    tcase_add_test(tests, a_recording_has_air_of_its_own);
    tcase_add_test(tests, a_companion_has_masses_and_a_setup);
    tcase_add_test(tests, notes_stand_beside_the_runs);
    tcase_add_test(tests, an_air_log_lies_beside_the_outing);
    tcase_add_test(tests, an_offset_of_nothing_is_an_offset);
    tcase_add_test(tests, a_level_road_says_how_level);
    tcase_add_test(tests, pressures_are_of_tyres);
    tcase_add_test(tests, other_units_stand_for_ours);
    tcase_add_loop_test(tests, faults_name_the_line, 0, sizeof faults / sizeof *faults);
    tcase_add_test(tests, a_line_may_be_written_in_several_ways);
    tcase_add_test(tests, an_overlong_line_is_refused_by_number);
    tcase_add_test(tests, more_than_anybody_has_is_refused);
    tcase_add_test(tests, a_nul_is_refused);
    tcase_add_test(tests, paths_are_relative_to_the_file);
    tcase_add_test(tests, what_is_written_reads_back);
    tcase_add_test(tests, every_kind_of_heights_reads_back);
    tcase_add_test(tests, a_long_order_is_written_in_lines);
    tcase_add_test(tests, what_cannot_stand_in_the_file_is_not_written);
    tcase_add_test(tests, the_nearest_name_is_the_nearest);
    tcase_add_test(tests, a_missing_file_is_said);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
