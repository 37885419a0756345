#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/version.h"
#include "fit/workings.h"
#include "report/fit_report.h"

/* Two recordings; three runs kept, the first of each setup told well, the last not told at all. */
static struct cw_recording recordings[2];
static struct cw_run found[] = {
    {.recording = 0,
     .number = 1,
     .start_s = 1e9,
     .duration_s = 61.5,
     .distance_m = 812.25,
     .drop_m = 33.375,
     .noted.wind_ms = -0.4,
     .logged.wind_ms = 0.25,
     .kept = true},
    {.recording = 0, .number = 2, .start_s = 1e9 + 600, .duration_s = 20, .reasons = 1},
    {.recording = 0,
     .number = 3,
     .start_s = 1e9 + 1200,
     .duration_s = 60,
     .distance_m = 815,
     .drop_m = 33.5,
     .kept = true},
    {.recording = 0,
     .number = 4,
     .start_s = 1e9 + 1800,
     .duration_s = 59,
     .distance_m = 810,
     .drop_m = 33.25,
     .kept = true}};
static struct cw_runs runs = {.n = 4, .at = found, .n_roads = 1};
static struct cw_setup setups[] = {
    {.name = "cape", .description = "", .tyres = "all", .pressure_kpa = NAN, .load_kg = 0.5},
    {.name = "ja,cket\033", .description = "", .tyres = "all", .pressure_kpa = NAN}};
static char *defaults[] = {"[air] wind_along_ms: 0 m/s", "[air] temperature_uncertainty_c: 8 °C"};
static struct cw_fit_run fitted[3];
static const char *tyres[] = {"all"};
static struct cw_estimate crr, crr_at_20c;
static bool crr_known;
static struct cw_fit_recorder recorders[2] = {
    {0, 0.94, 0.093, 0.0021, 12.985, 1.19512, CW_AIR_STANDARD},
    {1, 1, 1.5, 0, 12.985, 1.19512, CW_AIR_STANDARD}};
static struct cw_setup_result results[2];
static struct cw_cause_effect causes[1] = {
    {CW_CAUSE_TEMPERATURE, "air temperature", "C", 1.5, 0.57, 0.00001, -0.0125}};
static struct cw_recording_air air[2] = {{.shared = {8, 100, 0.1}}, {.shared = {8, 100, 0.1}}};
static struct cw_fit_workings workings = {.air = air};
static struct cw_analysed of[2];
static struct cw_analysis analysis;
static const struct cw_look plain = {.columns = 100, .utf8 = false},
                            utf8 = {.columns = 100, .utf8 = true};
static struct cw_text out;
static struct cw_error error;

static void begin(void) {
    recordings[0] = (struct cw_recording){.file = "one.gpx", .has_position = true};
    recordings[1] = (struct cw_recording){.file = "two.gpx"};
    cw_warning_add(&recordings[0].warnings, 3, 77, "time goes backwards");
    of[0].outing = (struct cw_outing){.file = "o.ini",
                                      .name = "Lane",
                                      .n_recordings = 2,
                                      .elevation = CW_ELEVATION_BAROMETRIC,
                                      .rider.mass_kg = 70,
                                      .rider.bike_mass_kg = 10,
                                      .air.temperature_c = NAN,
                                      .air.pressure_hpa = 987,
                                      .air.humidity_percent = 70,
                                      .air.temperature_uncertainty_c = 8,
                                      .air.pressure_uncertainty_hpa = 1,
                                      .wind_uncertainty_ms = 0.2,
                                      .n_setups = 2,
                                      .setups = setups,
                                      .elevation_uncertainty_m = NAN,
                                      .crr = NAN,
                                      .crr_uncertainty = NAN,
                                      .order = {.n = 3, .line = 9},
                                      .n_defaults = 2,
                                      .defaults = defaults};
    fitted[0] = (struct cw_fit_run){.run = 0,
                                    .setup = 0,
                                    .mass_kg = 80.5,
                                    .density_kgm3 = 1.2,
                                    .alone_cda_m2 = {0.4683, 0.0192, 0.4297, 0.5069, 0},
                                    .alone_crr = {0.00646, 0.00163, 0.0032, 0.0097, 0},
                                    .correlation = -0.7512,
                                    .identifiable = true,
                                    .crr_known = true,
                                    .together_cda_m2 = {0.48004, 0.00951, 0.46, 0.49993, 0},
                                    .together_identifiable = true};
    fitted[1] = fitted[0];
    fitted[1].run = 2;
    fitted[1].setup = 1;
    fitted[1].crr_known = false;
    fitted[1].together_cda_m2 = (struct cw_estimate){0.4149, 0.0082, 0.3979, 0.432, 0};
    fitted[2] = fitted[1];
    fitted[2].run = 3;
    fitted[2].correlation = -0.99984;
    fitted[2].identifiable = fitted[2].together_identifiable = false;
    crr = (struct cw_estimate){0.00538, 0.00067, 0.00404, 0.00671, 0};
    crr_at_20c = (struct cw_estimate){0.00495, 0.00065, 0.00367, 0.00623, 0};
    crr_known = true;
    of[0].fit = (struct cw_fit){.place = {.height_m = 310,
                                          .latitude_deg = 46.5,
                                          .temperature_c = 12.985,
                                          .pressure_pa = 98700,
                                          .humidity = 0.7,
                                          .density_kgm3 = 1.19512,
                                          .gravity_ms2 = 9.8066,
                                          .barometric_scale = 1.0123},
                                .n_runs = 3,
                                .runs = fitted,
                                .n_tyres = 1,
                                .tyres = tyres,
                                .crr = &crr,
                                .crr_identifiable = &crr_known,
                                .temperature_c = 12.985,
                                .coldest_c = 12.985,
                                .warmest_c = 12.985,
                                .crr_fall_1k = {0.0118, 0.0049, 0.0022, 0.0214, 0},
                                .crr_at_20c = &crr_at_20c,
                                .n_recorders = 2,
                                .recorders = recorders,
                                .workings = &workings,
                                .noise = {.gust_sd_ms = 0.115,
                                          .gust_time_s = 16.2,
                                          .drift_sd_m = 0.253,
                                          .drift_time_s = 150,
                                          .elevation_sd_m = 0.0182,
                                          .speed_sd_ms = 0.1,
                                          .wander_sd_m = 1.02,
                                          .wander_time_s = 60,
                                          .jitter_sd_m = 0.1,
                                          .jitter_time_s = 3,
                                          .creep_sd_ms = 0.03,
                                          .creep_time_s = 4,
                                          .position_sd_m = 0.2,
                                          .roughness_m = 0.054,
                                          .map_sd_m = 2,
                                          .map_length_m = 50},
                                .n_roads = 1};
    of[0].fit.workings->noise_covariance[CW_NOISE_GUST_SD][CW_NOISE_GUST_SD] = 0.04;
    results[0] = (struct cw_setup_result){.level_told = true,
                                          .name = setups[0].name,
                                          .runs = 1,
                                          .cda_m2 = {0.4729, 0.0085, 0.4557, 0.4901, 0}};
    results[1] = (struct cw_setup_result){
        .name = setups[1].name, .runs = 2, .cda_m2 = {0.4, 0.2, 0.01, 0.8, 0}}; /* says nothing */
    results[0].crr = results[1].crr = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    results[0].correlation = results[1].correlation = NAN;
    of[0].average = (struct cw_compare){.n_setups = 2,
                                        .setups = results,
                                        .n_causes = 1,
                                        .causes = causes,
                                        .systematic_percent = 0.57,
                                        .systematic_difference_percent = 0.0125};
    of[0].n_recordings = 2;
    of[0].recordings = recordings;
    of[0].runs = runs;
    of[0].has_file = of[0].fitted = of[0].averaged = true;
    analysis = (struct cw_analysis){.n = 1, .outings = of};
}

static void end(void) {
    cw_text_free(&out);
}

static void holds(const char *part) {
    ck_assert_msg(strstr(out.bytes, part) != NULL, "%s\nis not in\n%.2000s", part, out.bytes);
}

static void lacks(const char *part) {
    ck_assert_msg(strstr(out.bytes, part) == NULL, "%s\nis in\n%.2000s", part, out.bytes);
}

START_TEST(numbers_have_the_digits_that_their_errors_justify) {
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    holds("Lane: 3 runs (cape 1, ja,cket? 2) in the order cape ja,cket? ja,cket?; 1 turned down "
          "(coastwise runs\no.ini says why)\n");
    holds("  1  cape         812  33.4  0.4800  0.0095     0.4600  0.4999  ");
    holds("  1  cape      0.468  0.019      0.430  0.507  0.0065  0.0016     0.0032  0.0097");
    holds("Crr: 0.00538 +- 0.00067 (95 %: 0.00404 to 0.00671) as ridden, ");
    holds("the recorded heights' lag");
    lacks("two.gpx"); /* no run of it was fitted */
    holds("at 13.0 C, 987.0 hPa, 70 % humidity, 310 m; gravity 9.8066 m/s2\n");
}
END_TEST

START_TEST(a_lag_is_a_devices) {
    found[3].recording = 1;
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    holds("lag of the heights in one.gpx");
    holds("lag of the heights in two.gpx");
    cw_text_free(&out);
    recorders[1].device = 0;
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    holds("the recorded heights' lag");
    lacks("lag of the heights in");
    recorders[1].device = 1;
    found[3].recording = 0;
}
END_TEST

START_TEST(what_is_not_told_is_said_in_words) {
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    holds("  4  ja,cket?     810  33.2       -       -          -       -  "
          "CdA not told by these runs\n");
    holds("CdA and Crr not\n");
    /* Known CdA, unknown Crr. */
    holds("  3  ja,cket?  0.468  0.019      0.430  0.507       -       -          -       -");
    /* A setup's mean that says nothing is no number. */
    holds("ja,cket?     2  80.0  all         -       -          -       -\n");
    holds("- run 4: CdA is not known from the run alone\n");
    lacks("Crr of the tyres");
    crr_known = false;
    cw_text_free(&out);
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    holds("Crr: not told by these runs\n");
    lacks("0.00538");
}
END_TEST

START_TEST(intervals_are_drawn_on_one_scale) {
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    holds("to  0.38                            0.50\n");
    holds("0.4999                         |-----o-----|\n");
    holds("0.4320       |----o----|\n");
    cw_text_free(&out);
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &utf8, &out, &error), CW_OK);
    holds("0.4320       ├────●────┤\n");
    holds("13.0 °C");
}
END_TEST

START_TEST(a_narrow_terminal_gets_no_picture) {
    struct cw_look narrow = {.columns = 70};
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &narrow, &out, &error), CW_OK);
    lacks("--|");
    holds("0.4600  0.4999\n");
}
END_TEST

START_TEST(a_plain_terminal_gets_plain_ascii) {
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    for (const char *c = out.bytes; *c; c++) ck_assert((unsigned char)*c < 0x80);
    holds("- [air] temperature_uncertainty_c: 8 C\n");
}
END_TEST

START_TEST(the_defaults_and_warnings_are_all_there) {
    struct cw_fit_break losses[] = {
        {212.4, 0.51, 0.58}, {299.6, -0.3, -0.31}, {402, 0.4, 0.42}, {500, 0.6, 0.5}};
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &utf8, &out, &error), CW_OK);
    holds("- [air] wind_along_ms: 0 m/s\n");
    holds("- the standard atmosphere's temperature at 310 m: 13.0 °C\n");
    lacks("standard atmosphere's pressure"); /* it was given */
    lacks("no positions");
    holds("- one.gpx: line 77: time goes backwards\n");
    lacks("no order");
    lacks("at the most");
    lacks("slowed");
    of[0].fit.noise.gust_sd_ms = 1.5;
    fitted[1].losses = losses;
    fitted[1].n_losses = 4;
    struct cw_fit_break jump = {410.2, -1.34, 0};
    fitted[1].jumps = &jump;
    fitted[1].n_jumps = 1;
    recordings[0].has_position = false;
    of[0].outing.order.n = 0;
    of[0].fit.n_roads = 2;
    cw_text_free(&out);
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &utf8, &out, &error), CW_OK);
    holds("no positions: gravity of latitude 46°");
    holds("gives no order");
    holds("no setup's load is counted");
    holds("2 roads");
    holds("gusts along the road: at the most that is looked for, 5.4 km/h; something else");
    holds("- run 3 was slowed by 2.1 km/h within seconds at 212 m, sped up by 1.1 km/h within "
          "seconds at "
          "300 m,\n  slowed by 1.5 km/h within seconds at 402 m and at 1 more place, as if by "
          "brakes or "
          "pedals: that is\n  left out of its drag\n");
    holds(
        "- run 3's recorded heights jump by -1.3 m at 410 m, where the road does not: that is left "
        "out\n");
}
END_TEST

START_TEST(what_bends_cost_is_said_where_it_is_told) {
    of[0].fit.bends_crr = (struct cw_estimate){0.0031, 0.0004, 0.0023, 0.0039, 0};
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    lacks("in bends");
    cw_text_free(&out);
    ck_assert_int_eq(cw_report_fit_json(&analysis, &out, &error), CW_OK);
    holds("\"bends_crr\": null");
    cw_text_free(&out);
    of[0].fit.bends_told = true;
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    holds("in bends, at 0.2 g to the side, Crr is more by 0.00310 +- 0.00040 (95 %: 0.00230 to "
          "0.00390)\n");
    cw_text_free(&out);
    ck_assert_int_eq(cw_report_fit_json(&analysis, &out, &error), CW_OK);
    holds("\"bends_crr\": {\n    \"value\": 0.0031");
}
END_TEST

START_TEST(what_the_cold_does_to_tyres_is_said_where_runs_differ) {
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    holds("Crr: 0.00538 +- 0.00067 (95 %: 0.00404 to 0.00671) as ridden, at 13.0 C; ");
    holds("at 20 C it would be\n  0.00495 +- 0.00065 (95 %: 0.00367 to 0.00623)\n");
    lacks("worse in the cold");
    lacks("tyres whose Crr falls");
    cw_text_free(&out);
    of[0].fit.coldest_c = 2.04;
    of[0].fit.warmest_c = 14.4;
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    holds("tyres roll worse in the cold: from 2.0 to 14.4 C Crr is taken to fall, a kelvin, by "
          "1.18 +- 0.49 %\n(95 %: 0.22 to 2.14)\n");
    holds("tyres whose Crr falls by 1.2 +- 0.5 % a kelvin");
    cw_text_free(&out);
    ck_assert_int_eq(cw_report_fit_json(&analysis, &out, &error), CW_OK);
    holds("\"crr_fall_percent_per_k\": {\n    \"value\": 1.18");
}
END_TEST

START_TEST(a_pressure_stands_beside_its_tyres) {
    setups[0].pressure_kpa = 482.633;
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    holds("Crr, at 483 kPa (70 psi): 0.00538 +- 0.00067");
    cw_text_free(&out);
    ck_assert_int_eq(cw_report_fit_json(&analysis, &out, &error), CW_OK);
    holds("\"tyres\": \"all\",\n     \"pressure_kpa\": 482.633");
    setups[0].pressure_kpa = NAN;
}
END_TEST

START_TEST(a_crr_that_was_given_is_called_so) {
    of[0].outing.crr = 0.005;
    of[0].outing.crr_uncertainty = 0.0005;
    of[0].fit.crr_given = true;
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &plain, &out, &error), CW_OK);
    holds("Crr: 0.005 +- 0.0005 as the outing file gives it\n");
    lacks("0.0016");
}
END_TEST

START_TEST(the_json_keeps_its_contract) {
    struct cw_fit_break loss = {212.5, 0.51, 0.58};
    fitted[1].losses = &loss;
    fitted[1].n_losses = 1;
    struct cw_fit_break jump = {410.25, -1.375, 0};
    fitted[1].jumps = &jump;
    fitted[1].n_jumps = 1;
    of[1] = of[0];
    of[1].averaged = false;
    analysis.n = 2;
    ck_assert_int_eq(cw_report_fit_json(&analysis, &out, &error), CW_OK);
    static const char *const parts[] = {
        "{\n \"coastwise\": \"" CW_VERSION_STRING
        "\",\n \"command\": \"fit\",\n \"outings\": [\n  {\n   \"name\": \"Lane\",\n   \"file\": "
        "\"o.ini\"",
        "\"density_kgm3\": {\n     \"value\": 1.19512,\n     \"standard_error\": 0.03",
        "\"crr\": {\n    \"all\": {\n     \"value\": 0.00538,\n     \"standard_error\": 0.00067,\n"
        "     \"low\": 0.00404,\n     \"high\": 0.00671",
        "\"crr_at_20c\": {\n    \"all\": {\n     \"value\": 0.00495,\n     \"standard_error\": "
        "0.00065,\n     \"low\": 0.00367,\n     \"high\": 0.00623",
        "\"crr_fall_percent_per_k\": null,", /* all of one temperature */
        "\"wind_sd_ms\": 0.115,",
        "\"drift_sd_m\": null,", /* held: nothing to find it from */
        "\"speed_sd_ms\": null,",
        "\"number\": 1,\n     \"setup\": \"cape\",\n     \"recording\": \"one.gpx\",\n"
        "     \"start\": \"2001-09-09T01:46:40Z\",\n     \"duration_s\": 61.5,\n"
        "     \"distance_m\": 812.25,\n     \"drop_m\": 33.375,\n     \"mass_kg\": 80.5,\n"
        "     \"density_kgm3\": 1.2,",
        "\"alone\": {\n      \"cda_m2\": {\n       \"value\": 0.4683,",
        "\"correlation\": -0.7512,\n      \"identifiable\": true",
        "\"cda_m2\": null,\n      \"crr\": null,\n      \"correlation\": -0.99984,\n"
        "      \"identifiable\": false",
        "\"together\": {\n      \"cda_m2\": {\n       \"value\": 0.48004,",
        "\"name\": \"cape\",\n     \"runs\": 1,\n     \"cda_m2\": {\n      \"value\": 0.4729,",
        "\"runs\": 2,\n     \"cda_m2\": null",
        "\"cause\": \"air temperature\",\n     \"cda_percent\": 0.57,\n"
        "     \"difference_percent\": -0.0125",
        "\"losses\": [\n      {\n       \"at_m\": 212.5,\n       \"height_m\": 0.51,\n"
        "       \"speed_ms\": 0.58\n      }\n     ]",
        "\"jumps\": [\n      {\n       \"at_m\": 410.25,\n       \"height_m\": -1.375\n      }\n   "
        "  ]",
        "\"losses\": []",
        "\"budget\": [],", /* of the second, which has no setups */
        "\"[air] wind_along_ms: 0 m/s\"",
        "\"one.gpx: line 77: time goes backwards\""};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) holds(parts[i]);
}
END_TEST

START_TEST(the_csv_has_a_line_a_run) {
    ck_assert_int_eq(cw_report_fit_csv(&analysis, &out, &error), CW_OK);
    holds("outing,number,setup,recording,start,duration_s,distance_m,drop_m,mass_kg,density_kgm3,"
          "alone_cda_m2,alone_cda_m2_standard_error,alone_cda_m2_low,alone_cda_m2_high,alone_crr,");
    holds("\r\nLane,1,cape,one.gpx,2001-09-09T01:46:40Z,61.5,812.25,33.375,80.5,1.2,"
          "0.4683,0.0192,0.4297,0.5069,0.00646,0.00163,0.0032,0.0097,-0.7512,true,"
          "0.48004,0.00951,0.46,0.49993,true,all,0.00538,0.00067,0.00404,0.00671,-0.4,0.25\r\n");
    holds("80.5,1.2,,,,,,,,,-0.99984,false,,,,,false,all,");
}
END_TEST

START_TEST(an_answer_is_one_run_or_one_setup_that_is_told) {
    ck_assert(cw_fit_answers(&of[0]));
    for (int i = 0; i < 3; i++) fitted[i].identifiable = fitted[i].together_identifiable = false;
    ck_assert(cw_fit_answers(&of[0])); /* the first setup's mean is */
    results[0].level_told = false;
    ck_assert(!cw_fit_answers(&of[0]));
    fitted[1].identifiable = true;
    ck_assert(cw_fit_answers(&of[0]));
}
END_TEST

START_TEST(cda_and_crr_are_told_as_a_pair_where_one_makes_up_for_the_other) {
    results[1].crr = (struct cw_estimate){0.012, 0.004, 0.004, 0.02, 0};
    results[1].correlation = -0.95;
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &utf8, &out, &error), CW_OK);
    holds("correlation -0.95");
    /* 0.4 + 0.95 x 0.2 / 0.004 x 0.007, and 0.2 sqrt(1 - 0.95^2) */
    holds("were Crr 0.005, CdA would be 0.733 ± 0.062");
    results[1].crr = (struct cw_estimate){0.04, 0.005, 0.03, 0.05, 0};
    cw_text_free(&out);
    ck_assert_int_eq(cw_report_fit_table(&analysis, true, &utf8, &out, &error), CW_OK);
    holds("no tyre's Crr is as high");
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_fit");
    TCase *tests = tcase_create("fit");
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, numbers_have_the_digits_that_their_errors_justify);
    tcase_add_test(tests, a_lag_is_a_devices);
    tcase_add_test(tests, what_is_not_told_is_said_in_words);
    tcase_add_test(tests, intervals_are_drawn_on_one_scale);
    tcase_add_test(tests, a_narrow_terminal_gets_no_picture);
    tcase_add_test(tests, a_plain_terminal_gets_plain_ascii);
    tcase_add_test(tests, the_defaults_and_warnings_are_all_there);
    tcase_add_test(tests, what_the_cold_does_to_tyres_is_said_where_runs_differ);
    tcase_add_test(tests, a_pressure_stands_beside_its_tyres);
    tcase_add_test(tests, a_crr_that_was_given_is_called_so);
    tcase_add_test(tests, what_bends_cost_is_said_where_it_is_told);
    tcase_add_test(tests, the_json_keeps_its_contract);
    tcase_add_test(tests, the_csv_has_a_line_a_run);
    tcase_add_test(tests, an_answer_is_one_run_or_one_setup_that_is_told);
    tcase_add_test(tests, cda_and_crr_are_told_as_a_pair_where_one_makes_up_for_the_other);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
