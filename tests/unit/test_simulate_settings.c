/* Options from text, and the worlds, which are nothing else. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "simulate/settings.h"
#include "simulate/simulate.h"
#include "simulate/worlds.h"

START_TEST(settings_set_what_they_name) {
    struct cw_simulate_options options = cw_simulate_options_default();
    struct cw_error error;
    ck_assert_int_eq(cw_simulate_set_all(&options,
                                         "  elevation=satellite elevation-sd-m=0.7 seed=9 "
                                         "road=300:-5:20,100:-1 setups=a:0.4,b:0.3:0.004:2:wide "
                                         "order=b,a,b recordings=0 cadence=no both-ways=yes "
                                         "speed=own start=2024-01-02T03:04:05Z format=gpx",
                                         &error),
                     CW_OK);
    ck_assert_int_eq(options.elevation, CW_ELEVATION_SATELLITE);
    ck_assert_double_eq(options.elevation_drift_sd_m, 3);
    ck_assert_double_eq(options.elevation_sd_m, 0.7);
    ck_assert_uint_eq(options.seed, 9);
    ck_assert_uint_eq(options.n_segments, 2);
    ck_assert_double_eq(options.segments[0].turn_deg, 20);
    ck_assert_str_eq(options.setups[1].tyres, "wide");
    ck_assert_uint_eq(options.n_order, 3);
    ck_assert_uint_eq(options.order[2], 1);
    ck_assert_uint_eq(cw_simulate_recordings(&options), 3);
    ck_assert(!options.cadence && options.both_ways);
    ck_assert_int_eq(options.speed, CW_SIMULATE_SPEED_OWN);
    ck_assert_double_eq(options.start_s, 1704164645);
    ck_assert_int_eq(options.format, CW_FORMAT_GPX);
}
END_TEST

START_TEST(wrong_settings_are_said) {
    static const char *const rows[][2] = {
        {"gust-sd=0.1", "there is no setting \"gust-sd\""},
        {"gust-sd-ms", "\"gust-sd-ms\" is no setting: give NAME=VALUE"},
        {"gust-sd-ms=much", "gust-sd-ms is \"much\": give a number"},
        {"cadence=maybe", "cadence is \"maybe\": give yes or no"},
        {"speed=radar", "speed is \"radar\": give none, wheel, doppler or own"},
        {"format=kml", "format is \"kml\": give gpx or tcx"},
        {"seed=-1", "seed is \"-1\": give a whole number"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cw_simulate_options options = cw_simulate_options_default();
        struct cw_error error = {0};
        ck_assert_int_eq(cw_simulate_set_all(&options, rows[i][0], &error), CW_E_ARGUMENT);
        ck_assert_str_eq(error.message, rows[i][1]);
    }
}
END_TEST

/* Every world can be made; each has its own name, and another outing than the others. */
START_TEST(worlds_can_be_made) {
    double ends_s[32];
    size_t n = 0;
    for (const struct cw_simulate_world *world; (world = cw_simulate_world_at(n)); n++) {
        struct cw_simulate_options options = cw_simulate_options_default();
        struct cw_simulated simulated;
        struct cw_error error = {0};
        ck_assert_ptr_eq(cw_simulate_world_named(world->name), world);
        ck_assert_msg(!cw_simulate_set_all(&options, world->settings, &error), "%s: %s",
                      world->name, error.message);
        ck_assert_msg(!cw_simulate(&options, &simulated, &error), "%s: %s", world->name,
                      error.message);
        ck_assert_uint_eq(simulated.n_runs, 8);
        ends_s[n] = simulated.runs[7].end_s;
        cw_simulated_free(&simulated);
    }
    ck_assert_uint_ge(n, 16);
    ck_assert_ptr_null(cw_simulate_world_named("moon"));
    /* The true ride differs where air, road or rider do: the first four are air alone. */
    for (size_t i = 0; i < 4; i++)
        for (size_t k = 0; k < i; k++) ck_assert_double_ne(ends_s[i], ends_s[k]);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("simulate_settings");
    TCase *cases = tcase_create("simulate_settings");
    tcase_set_timeout(cases, 60);
    tcase_add_test(cases, settings_set_what_they_name);
    tcase_add_test(cases, wrong_settings_are_said);
    tcase_add_test(cases, worlds_can_be_made);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
