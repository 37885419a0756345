/* What a plan says, against closed forms, against what others' tables say of power, and against the
 * fit and the comparison that it stands for. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "compare/run_model.h"
#include "compared.h"
#include "fit/workings.h"
#include "made.h"
#include "physics/stopping.h"
#include "plan/day.h"
#include "plan/expected.h"
#include "plan/plan.h"
#include "plan/promise.h"
#include "plan/recorders.h"
#include "simulate/settings.h"

static struct cw_plan_options asked(const char *settings, double difference) {
    struct cw_plan_options options = cw_plan_options_default();
    struct cw_error error;
    ck_assert_int_eq(cw_simulate_set_all(&options.day, settings, &error), CW_OK);
    options.cda_m2 = 0.42;
    options.crr = 0.005;
    options.mass_kg = 83;
    options.difference_percent = difference;
    return options;
}

static struct cw_plan planned(const struct cw_plan_options *options) {
    struct cw_plan plan;
    struct cw_error error;
    enum cw_status status = cw_plan_make(options, &plan, &error);
    ck_assert_msg(status == CW_OK, "%s", error.message);
    return plan;
}

static void refused(const struct cw_plan_options *options, enum cw_status with, const char *says) {
    struct cw_plan plan;
    struct cw_error error;
    ck_assert_int_eq(cw_plan_make(options, &plan, &error), with);
    ck_assert_msg(strstr(error.message, says) != NULL, "%s", error.message);
    ck_assert_ptr_null(plan.order);
}

/* Terminal speed in closed form without bearings, v2 = 2 m g (sin - Crr cos) / (rho CdA): 13.8033
 * m/s for m = 83 kg, CdA = 0.32 m2, Crr = 0.005, rho = 1.2 kg/m3, -5 %, g = 9.80665 (computed).
 * Bearings (Martin et al. 1998: 0.2 N of 36.6 N here) take 0.3 % of it. */
START_TEST(top_speed_is_the_closed_form) {
    struct cw_plan_options options = asked("road=3000:-5", 5);
    options.cda_m2 = 0.32;
    options.runs = 2;
    options.day.pressure_hpa = 984.2;
    struct cw_plan plan = planned(&options);
    ck_assert_double_eq_tol(plan.top_speed_ms, 13.8033, 0.005 * 13.8033);
    ck_assert_double_lt(plan.top_speed_ms, 13.8033);
    ck_assert_double_eq_tol(plan.steepest, -0.05, 1e-4);
    /* A sound bicycle stops from 25 km/h within 7 m and a second's way on the flat (ISO 4210-2, as
     * remembered); downhill in more. */
    ck_assert_double_eq_tol(plan.stopping_distance_m,
                            cw_stopping_distance(plan.top_speed_ms, -0.05), 0.01);
    ck_assert_uint_eq(plan.dangers, 0);
    cw_plan_free(&plan);
}
END_TEST

/* Where runs scatter by far more than their noise, a plan is one of two groups: n a group for a
 * difference of one sd is 16.715, of half an sd 63.766 (R 4.2.2, power.t.test, computed). The
 * comparison does not quite know its scatter to be that and nothing else, and loses a run or so.
 * Runs are log-normal: a difference of 5 % is 4.88 % of a logarithm. */
START_TEST(power_is_that_of_two_groups) {
    struct cw_plan_options options = asked("cda-scatter-percent=4.65", 100 * expm1(0.05));
    struct cw_plan plan = planned(&options);
    ck_assert_double_eq_tol(plan.together_percent, 4.9, 0.15);
    ck_assert(plan.needed[0].asked);
    ck_assert_double_ge(plan.needed[0].runs, 16);
    ck_assert_double_le(plan.needed[0].runs, 19);
    ck_assert_double_ge(plan.needed[0].power, 0.8);
    cw_plan_free(&plan);
    options.difference_percent = 100 * expm1(0.025);
    plan = planned(&options);
    ck_assert(!plan.needed[0].asked);
    ck_assert_double_eq_tol(plan.needed[0].runs, 63.766, 5);
    ck_assert_uint_eq(plan.runs, CW_PLAN_RUNS_MOST);
    ck_assert(isnan(plan.wind_limit_ms)); /* even still air takes more */
    cw_plan_free(&plan);
}
END_TEST

/* The fewest: one less does not have the power, and 90 % takes no fewer than 80 %. */
START_TEST(needed_is_the_fewest) {
    struct cw_plan_options options = asked("", 3);
    struct cw_plan plan = planned(&options);
    size_t needed = (size_t)plan.needed[0].runs;
    ck_assert_uint_ge(needed, 3);
    ck_assert_double_ge(plan.needed[1].runs, plan.needed[0].runs);
    ck_assert_uint_eq(plan.n_order, 2 * needed);
    ck_assert_double_eq_tol(plan.promise.power, plan.needed[0].power, 1e-12);
    cw_plan_free(&plan);
    options.runs = needed - 1;
    plan = planned(&options);
    ck_assert_double_lt(plan.promise.power, 0.8);
    ck_assert_double_gt(plan.promise.smallest_percent[0], 3);
    ck_assert_double_lt(plan.promise.smallest_percent[0], plan.promise.smallest_percent[1]);
    cw_plan_free(&plan);
}
END_TEST

/* A day made from options, and what runs in an order are expected to tell. */
struct expecting {
    struct cw_plan_options options;
    struct cw_plan_ground ground;
    struct cw_plan_noise noise;
    struct cw_plan_day day;
};

static void expecting_make(struct expecting *e, const char *settings) {
    struct cw_error error;
    e->options = asked(settings, 3);
    ck_assert_int_eq(cw_plan_ground_make(&e->options.day, NULL, &e->ground, &error), CW_OK);
    cw_plan_noise_usual(CW_PLAN_WHEEL, 0.15, &e->noise);
    cw_plan_noise_rough(&e->noise, cw_plan_ground_roughness(&e->ground));
    ck_assert_int_eq(cw_plan_day_make(&e->options, &e->ground, &e->noise, &e->day, &error), CW_OK);
}

static void expecting_free(struct expecting *e) {
    cw_plan_day_free(&e->day);
    cw_plan_ground_free(&e->ground);
}

static void expect(const struct expecting *e, enum cw_fit_depth depth, const size_t *order,
                   size_t n, struct cw_plan_expected *expected) {
    struct cw_plan_look look = {.depth = depth, .to_m = INFINITY};
    struct cw_error error;
    ck_assert_int_eq(cw_plan_ride(&e->day, order, n, expected, &error), CW_OK);
    ck_assert_int_eq(cw_plan_expect(&e->day, &look, expected, &error), CW_OK);
}

/* What is expected goes through the fit as what is recorded does: without noise in it the fit finds
 * what was guessed. */
START_TEST(expected_runs_are_fitted_as_they_are) {
    static const size_t order[] = {0, 1, 1, 0};
    static const char *const roads[] = {"road=straight", "road=flattening", "road=dip"};
    for (size_t r = 0; r < 3; r++) {
        struct expecting e;
        struct cw_plan_expected all, brief;
        expecting_make(&e, roads[r]);
        expect(&e, CW_FIT_ALL, order, 4, &all);
        const struct cw_fit *fit = &all.fit;
        ck_assert_uint_eq(fit->n_runs, 4);
        for (size_t i = 0; i < 4; i++) {
            ck_assert_double_eq_tol(fit->runs[i].together_cda_m2.value, 0.42, 0.004);
            ck_assert_double_gt(fit->runs[i].alone_cda_m2.standard_error, 0.002);
        }
        ck_assert_double_eq_tol(fit->crr[0].value, 0.005, 3e-4);
        double sd, of_run, shorter;
        cw_plan_noise_of_difference(fit, &sd, &of_run);
        ck_assert_double_eq_tol(sd, of_run, 1e-12); /* two runs each: sqrt(1/2 + 1/2) */
        /* No more than what is asked for: the same covariance by the shorter way. */
        expect(&e, CW_FIT_INFORMATION, order, 4, &brief);
        cw_plan_noise_of_difference(&brief.fit, &shorter, &of_run);
        ck_assert_double_eq_tol(shorter, sd, 1e-9 * sd);
        cw_plan_expected_free(&brief);
        cw_plan_expected_free(&all);
        expecting_free(&e);
    }
}
END_TEST

/* The noise that is expected is that of outings as they are ridden: of the fit's own error of a
 * difference, on the mean of some. */
START_TEST(noise_is_that_of_ridden_outings) {
    enum { OUTINGS = 4 };
    static const size_t order[] = {0, 1, 1, 0, 0, 1, 1, 0};
    double ridden2 = 0, sd, of_run;
    for (unsigned long seed = 1; seed <= OUTINGS; seed++) {
        struct cw_simulate_options options = cw_simulate_options_default();
        struct made made;
        struct cw_error error;
        options.seed = 40 + seed;
        ck_assert_int_eq(made_fit(&made, &options, &error), CW_OK);
        cw_plan_noise_of_difference(&made.of->fit, &sd, &of_run);
        ridden2 += sd * sd / OUTINGS;
        made_free(&made);
    }
    struct expecting e;
    struct cw_plan_expected expected;
    expecting_make(&e, "");
    expect(&e, CW_FIT_INFORMATION, order, 8, &expected);
    cw_plan_noise_of_difference(&expected.fit, &sd, &of_run);
    ck_assert_double_eq_tol(sd / sqrt(ridden2), 1, 0.2);
    cw_plan_expected_free(&expected);
    expecting_free(&e);
}
END_TEST

/* Two sets of tyres are told apart as well as compare then says of outings that are ridden, and
 * better where the run ends slowly. */
START_TEST(tyres_are_told_apart_as_ridden) {
    enum { OUTINGS = 4 };
    static const char *const roads[] = {"road=straight", "road=dip"};
    struct cw_plan plan[2];
    for (size_t r = 0; r < 2; r++) {
        struct cw_plan_options options = asked(roads[r], NAN);
        double half = 0, one_drag = 0;
        options.runs = 4;
        plan[r] = planned(&options);
        for (unsigned long seed = 1; seed <= OUTINGS; seed++) {
            struct cw_simulate_options ridden = cw_simulate_options_default();
            struct compared c;
            struct cw_error error;
            ck_assert_int_eq(cw_simulate_set_all(&ridden, roads[r], &error), CW_OK);
            ridden.seed = 60 + seed;
            for (size_t s = 0; s < 2; s++) {
                strcpy(ridden.setups[s].tyres, s ? "soft" : "hard");
                ridden.setups[s].cda_m2 = 0.42;
            }
            compared_make(&c, &ridden);
            const struct cw_rolling_difference *d = &c.analysis.compare.comparisons[0].rolling;
            half += 0.5 * (d->crr.high - d->crr.low) / OUTINGS;
            one_drag += d->standard_error_if_same_drag / d->crr.standard_error / OUTINGS;
            compared_free(&c);
        }
        ck_assert_double_eq_tol(plan[r].tyres.half_crr / half, 1, 0.2);
        ck_assert_double_eq_tol(plan[r].tyres.half_crr_one_drag / plan[r].tyres.half_crr / one_drag,
                                1, 0.2);
        ck_assert_double_lt(plan[r].tyres.half_crr_one_drag, plan[r].tyres.half_crr);
    }
    ck_assert_double_lt(plan[1].tyres.half_crr, 0.8 * plan[0].tyres.half_crr);
    ck_assert_double_lt(plan[0].tyres_on.half_crr, 0.5 * plan[0].tyres.half_crr);
    ck_assert_double_lt(plan[0].tyres_on.half_crr_one_drag, plan[0].tyres.half_crr_one_drag);
    ck_assert(plan[1].stands_still && isnan(plan[1].tyres_on.half_crr));
    for (size_t r = 0; r < 2; r++) cw_plan_free(&plan[r]);
}
END_TEST

START_TEST(an_outing_to_be_like_says_the_rest) {
    struct cw_simulate_options ridden = cw_simulate_options_default();
    struct made made;
    struct cw_error error;
    ridden.seed = 3;
    ridden.run_wind_sd_ms = 0.5;
    ck_assert_int_eq(made_fit(&made, &ridden, &error), CW_OK);
    struct cw_plan_options options = cw_plan_options_default();
    options.like = options.road = made.of;
    options.difference_percent = 15;
    struct cw_plan plan = planned(&options);
    ck_assert_double_eq_tol(plan.options.mass_kg, 83, 1e-9);
    ck_assert_double_eq_tol(plan.options.cda_m2, 0.40, 0.05);
    ck_assert_double_eq_tol(plan.options.day.start_speed_ms, 4, 0.5);
    ck_assert_double_eq_tol(plan.options.day.interval_s, 1, 1e-6);
    ck_assert_double_eq_tol(plan.length_m, 1000, 30);
    ck_assert_double_eq_tol(plan.drop_m, 60, 3);
    ck_assert_double_eq_tol(plan.top_speed_ms, 13.6, 0.6);
    ck_assert_double_gt(plan.wind_planned_ms, 0.15);
    ck_assert_double_gt(plan.together_percent, 3);
    /* Runs follow each other as they did. */
    double turn_s = plan.order[1].start_s - plan.order[0].start_s;
    const struct cw_run *runs = made.of->runs.at;
    ck_assert_double_eq_tol(turn_s, runs[1].start_s - runs[0].start_s, 20);
    cw_plan_free(&plan);
    made_free(&made);
}
END_TEST

START_TEST(threads_change_no_digit) {
    struct cw_plan_options options = asked("road=1000:-6", 4);
    struct cw_plan alone = planned(&options);
    options.threads = 3;
    struct cw_plan several = planned(&options);
    ck_assert_uint_eq(several.runs, alone.runs);
    ck_assert_double_eq(several.promise.half_percent, alone.promise.half_percent);
    ck_assert_double_eq(several.tyres.half_crr, alone.tyres.half_crr);
    for (size_t k = 0; k < CW_PLAN_PARTS; k++)
        ck_assert_double_eq(several.parts[k].share, alone.parts[k].share);
    for (size_t k = 0; k < CW_PLAN_STARTS; k++)
        ck_assert_double_eq(several.starts[k].error_percent, alone.starts[k].error_percent);
    cw_plan_free(&alone);
    cw_plan_free(&several);
}
END_TEST

START_TEST(dangerous_roads_are_called_so) {
    struct cw_plan_options options = asked("road=1500:-9", 3);
    options.runs = 2;
    struct cw_plan plan = planned(&options);
    ck_assert_uint_eq(plan.dangers, CW_PLAN_FAST);
    ck_assert_double_gt(plan.safe_m, 50);
    ck_assert_double_lt(plan.safe_m, 1000);
    cw_plan_free(&plan);
    options = asked("road=60:-14", 3);
    options.runs = 2;
    plan = planned(&options);
    ck_assert_uint_eq(plan.dangers & CW_PLAN_STEEP, CW_PLAN_STEEP);
    cw_plan_free(&plan);
    options = asked("road=2000:-30", 3);
    options.runs = 2;
    plan = planned(&options);
    ck_assert_uint_eq(plan.dangers & CW_PLAN_STEEP, CW_PLAN_STEEP);
    ck_assert_uint_eq(plan.dangers & CW_PLAN_FAST, CW_PLAN_FAST);
    cw_plan_free(&plan);
}
END_TEST

START_TEST(nonsense_is_refused) {
    struct cw_plan_options options = asked("", 3);
    options.mass_kg = -5;
    refused(&options, CW_E_ARGUMENT, "the mass of all that moves is -5 kg");
    options = asked("", 3);
    options.cda_m2 = NAN;
    refused(&options, CW_E_ARGUMENT, "give CdA");
    options = asked("", NAN);
    refused(&options, CW_E_ARGUMENT, "give the difference");
    options = asked("", 3);
    options.runs = 1;
    refused(&options, CW_E_ARGUMENT, "1 runs of each setup");
    options = asked("", 3);
    options.day.n_setups = 1;
    refused(&options, CW_E_ARGUMENT, "two setups or more");
    options = asked("road=1000:3 start-speed-ms=0", 3);
    refused(&options, CW_E_DATA, "never moves");
    options = asked("road=5:-6", 3);
    refused(&options, CW_E_DATA, "too short to tell anything");
    options = asked("road=1000:-50", 3);
    refused(&options, CW_E_ARGUMENT, "slope_percent is -50");
}
END_TEST

/* What a program hands on as text is held to the command line's ranges. */
START_TEST(texts_are_read) {
    struct cw_plan_options options = cw_plan_options_default();
    struct cw_error error;
    static const char *const good[][2] = {{"cda", "0.31"},
                                          {"gust-sd-ms", "0.2"},
                                          {"start-speed-ms", "2.5"},
                                          {"runs", "6"},
                                          {"seed", "7"},
                                          {"recorder", "phone"},
                                          {"setups", "cape,jacket,bare"},
                                          {"road", "700:-5,200:-1"}};
    static const char *const bad[][3] = {{"cda", "9", "give a number from 0.05 to 2"},
                                         {"cda", "0.31x", "give a number"},
                                         {"start-speed-ms", "-1", "from 0 to 15"},
                                         {"runs", "1", "give a whole number from 2"},
                                         {"runs", "6.5", "give a whole number"},
                                         {"recorder", "drum", "no recorder \"drum\""},
                                         {"setups", "cape", "two to 12 names"},
                                         {"setups", "cape:3,bare", "two to 12 names"},
                                         {"road", "700", "give straight"},
                                         {"colour", "red", "there is no \"colour\""}};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++)
        ck_assert_msg(cw_plan_set(&options, good[i][0], good[i][1], &error) == CW_OK, "%s",
                      error.message);
    ck_assert(options.cda_m2 == 0.31 && options.day.gust_sd_ms == 0.2 && options.runs == 6);
    ck_assert(options.start_speed_given && options.day.start_speed_ms == 2.5);
    ck_assert(options.seed == 7 && options.recorder == CW_PLAN_PHONE);
    ck_assert_uint_eq(options.day.n_setups, 3);
    ck_assert_str_eq(options.day.setups[1].name, "jacket");
    ck_assert(options.day.n_segments == 2 && options.day.segments[1].length_m == 200);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        ck_assert_int_eq(cw_plan_set(&options, bad[i][0], bad[i][1], &error), CW_E_ARGUMENT);
        ck_assert_msg(strstr(error.message, bad[i][2]) != NULL, "%s", error.message);
    }
}
END_TEST

/* The winds that runs are not alike in cost runs, and the table of it says so. */
START_TEST(winds_cost_runs) {
    struct cw_plan_options options = asked("", 4);
    struct cw_plan plan = planned(&options);
    for (size_t k = 1; k < CW_PLAN_WINDS; k++) {
        ck_assert_double_gt(plan.winds[k].error_percent, plan.winds[k - 1].error_percent);
        ck_assert_double_ge(plan.winds[k].runs, plan.winds[k - 1].runs);
    }
    ck_assert_double_gt(plan.wind_limit_ms, 0.05);
    ck_assert_double_lt(plan.wind_limit_ms, 0.5);
    /* 2 mean v / mean v2 along the road: near 2/v of the top speed, 15 % at 13.4 m/s. */
    ck_assert_double_eq_tol(plan.wind_percent_per_ms, 16, 1.5);
    options.day.run_wind_sd_ms = plan.wind_limit_ms;
    struct cw_plan windy = planned(&options);
    ck_assert_double_eq_tol(windy.needed[0].runs, CW_PLAN_RUNS_MOST, 3);
    cw_plan_free(&windy);
    double share = 0;
    for (size_t k = 0; k < CW_PLAN_PARTS; k++) share += plan.parts[k].share;
    ck_assert_double_eq_tol(share, 1, 1e-12);
    cw_plan_free(&plan);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("plan/plan");
    TCase *tests = tcase_create("plan");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, top_speed_is_the_closed_form);
    tcase_add_test(tests, power_is_that_of_two_groups);
    tcase_add_test(tests, needed_is_the_fewest);
    tcase_add_test(tests, expected_runs_are_fitted_as_they_are);
    tcase_add_test(tests, an_outing_to_be_like_says_the_rest);
    tcase_add_test(tests, threads_change_no_digit);
    tcase_add_test(tests, dangerous_roads_are_called_so);
    tcase_add_test(tests, nonsense_is_refused);
    tcase_add_test(tests, texts_are_read);
    TCase *numbers = tcase_create("numbers");
    tcase_set_tags(numbers, "numbers");
    tcase_set_timeout(numbers, 120);
    tcase_add_test(numbers, noise_is_that_of_ridden_outings);
    tcase_add_test(numbers, tyres_are_told_apart_as_ridden);
    tcase_add_test(numbers, winds_cost_runs);
    suite_add_tcase(suite, tests);
    suite_add_tcase(suite, numbers);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
