/* Setups against each other, on made-up outings whose truth is known. */
#include <check.h>
#include <math.h>
#include <string.h>

#include "compare/elsewhere.h"
#include "compare/run_model.h"
#include "compared.h"
#include "fit/workings.h"
#include "stats/student.h"
#include "stats/tests.h"

static bool warns(const struct cw_compare *compare, const char *of) {
    for (size_t i = 0; i < compare->warnings.n; i++)
        if (strstr(compare->warnings.at[i].text, of)) return true;
    return false;
}

static void check_holds(struct cw_estimate estimate, double truth) {
    ck_assert_msg(estimate.low < truth && truth < estimate.high, "%g to %g does not hold %g",
                  estimate.low, estimate.high, truth);
}

/* 0.42 and 0.38 m2; the order A B B A twice. */
START_TEST(known_difference_is_found) {
    struct compared c;
    struct cw_simulate_options options = compared_options(11);
    compared_make(&c, &options);
    ck_assert_uint_eq(c.analysis.compare.n_setups, 2);
    ck_assert_str_eq(c.analysis.compare.setups[0].name, "cape");
    ck_assert_uint_eq(c.analysis.compare.setups[0].runs, 4);
    check_holds(c.analysis.compare.setups[0].cda_m2, 0.42);
    check_holds(c.analysis.compare.setups[1].cda_m2, 0.38);
    ck_assert_uint_eq(c.analysis.compare.n_comparisons, 1);
    const struct cw_comparison *k = &c.analysis.compare.comparisons[0];
    check_holds(k->percent, 100 * (0.38 / 0.42 - 1));
    check_holds(k->difference_m2, -0.04);
    ck_assert_double_lt(k->percent.standard_error, 1);
    ck_assert_int_eq(k->verdict, CW_VERDICT_LOWER);
    ck_assert_double_lt(k->p_value, 0.001);
    ck_assert_double_eq(k->p_adjusted, k->p_value);
    ck_assert(c.analysis.compare.has_drift);
    check_holds(c.analysis.compare.drift_percent_per_hour, 0);
    ck_assert_double_lt(k->time_over_road_s.high, 0);
    ck_assert_double_lt(k->time_over_road_s.low, k->time_over_road_s.value);
    ck_assert(isnan(k->runout_m.value)); /* the runs ended braking */
    for (size_t i = 0; i < c.analysis.compare.n_runs; i++) {
        ck_assert(!c.analysis.compare.runs[i].outlier);
        ck_assert_double_lt(fabs(c.analysis.compare.runs[i].percent), 3);
    }
    compared_free(&c);
}
END_TEST

/* Time over the road is that of the made runs: the simulation has no noise but gusts here. Watts on
 * the flat: P = 1/2 rho CdA v^3, all else alike (Martin et al. 1998, J. Appl. Biomech. 14:276,
 * eq. 3). */
START_TEST(what_a_difference_is_worth) {
    struct compared c;
    struct cw_simulate_options options = compared_options(12);
    options.gust_sd_ms = 0;
    compared_make(&c, &options);
    const struct cw_comparison *k = &c.analysis.compare.comparisons[0];
    double time[2] = {0, 0};
    for (size_t i = 0; i < 8; i++)
        time[c.truth[0].runs[i].setup] += c.truth[0].runs[i].descent.end_time_s / 4;
    /* The runs as found leave off up to 30 m at either end. */
    double share = k->time_over_road_s.value / (time[1] - time[0]);
    ck_assert_msg(share > 0.85 && share < 1.02, "%g s, made %g s", k->time_over_road_s.value,
                  time[1] - time[0]);
    /* The mean run begins where and as fast as the runs do on the mean. */
    const struct cw_fit *fit = &c.analysis.outings[0].fit;
    struct cw_mean_run mean;
    double begin_m = 0, entry_ms = 0, n = (double)fit->n_runs;
    ck_assert(cw_mean_run_make(fit, &mean));
    for (size_t i = 0; i < fit->n_runs; i++) {
        begin_m += fit->workings->joint.data[i].s_m[0] / n;
        entry_ms += fit->workings->joint.data[i].speed_ms[0] / n;
    }
    ck_assert_double_eq_tol(mean.start_m, begin_m, 1e-9);
    ck_assert_double_eq_tol(mean.entry_speed_ms, entry_ms, 1e-12);
    ck_assert_double_gt(mean.length_m, 600);
    ck_assert(!mean.runs_out);
    double v = 40 / 3.6, rho = c.analysis.outings[0].fit.place.density_kgm3;
    double watts = 0.5 * rho * k->difference_m2.value * v * v * v;
    ck_assert_double_eq_tol(k->watts_at_40kmh.value, watts, 0.02 * fabs(watts));
    /* 25 mph are 40.2336 km/h. */
    ck_assert_double_eq_tol(k->force_mph[CW_FORCES - 1].power_w.value, watts * pow(40.2336 / 40, 3),
                            0.02 * fabs(watts));
    ck_assert_double_gt(fabs(k->force_mph[CW_FORCES - 1].power_w.value),
                        1.01 * fabs(k->watts_at_40kmh.value));
    compared_free(&c);
}
END_TEST

/* With the tested setup heavier, drag is compared with the mass accounted for; time is as ridden.
 */
START_TEST(load_is_no_drag) {
    struct compared c;
    struct cw_simulate_options options = compared_options(13);
    options.setups[1].cda_m2 = options.setups[0].cda_m2;
    options.setups[1].load_kg = 12;
    options.setups[0].load_kg = 0;
    compared_make(&c, &options);
    const struct cw_comparison *k = &c.analysis.compare.comparisons[0];
    check_holds(k->percent, 0);
    ck_assert_double_eq(c.analysis.compare.setups[1].load_kg, 12);
    ck_assert_double_lt(k->time_over_road_s.value, -0.5);
    ck_assert_double_lt(0.5, k->watts_at_40kmh.value); /* tyres carry more: some 6 W */
    compared_free(&c);
}
END_TEST

/* A wind that the outing file knows nothing of shifts CdA by what the budget says, and a headwind
 * makes it look larger: the sign was once the other way round. */
START_TEST(unseen_wind_looks_like_drag) {
    struct compared still, windy;
    struct cw_simulate_options options = compared_options(14);
    /* A good recorder, or its errors, which the wind makes others, move CdA as much as the wind. */
    options.speed_sd_ms = 0.02;
    options.elevation_drift_sd_m = 0.05;
    options.elevation_step_m = 0.02;
    compared_make(&still, &options);
    options.wind_along_ms = 0.3;
    compared_make(&windy, &options);
    double by_wind = cw_log_cda_by_wind(&still.analysis.outings[0].fit);
    double shift = log(windy.analysis.compare.setups[0].cda_m2.value /
                       still.analysis.compare.setups[0].cda_m2.value);
    ck_assert_double_gt(by_wind, 0);
    ck_assert_double_eq_tol(shift, 0.3 * by_wind, 0.2 * shift);
    /* Less drag is explained by a wind from behind. */
    const struct cw_comparison *k = &still.analysis.compare.comparisons[0];
    ck_assert_double_lt(k->wind_to_explain_ms, 0);
    ck_assert_double_eq_tol(k->wind_to_explain_ms, log(1 + k->percent.value / 100) / by_wind, 1e-6);
    compared_free(&still);
    compared_free(&windy);
}
END_TEST

/* Two days: other air, other masses, another road, the same setups. */
START_TEST(outings_are_combined) {
    struct compared one, both = {0};
    struct cw_simulate_options options = compared_options(15);
    compared_make(&one, &options);
    compared_add(&both, &options, SIZE_MAX, 0);
    options = compared_options(16);
    cw_simulate_road(&options, "flattening", NULL);
    options.temperature_c = 25;
    options.pressure_hpa = 1002;
    options.rider_mass_kg = 75;
    options.start_s += 86400 * 3;
    compared_order(&options, "BAABBA");
    compared_add(&both, &options, SIZE_MAX, 0);
    compared_compare(&both, NULL);
    ck_assert_uint_eq(both.analysis.compare.n_runs, 14);
    ck_assert_uint_eq(both.analysis.compare.setups[0].outings, 2);
    ck_assert_uint_eq(both.analysis.compare.setups[0].runs, 7);
    ck_assert_uint_eq(both.analysis.compare.n_comparisons, 1);
    const struct cw_comparison *k = &both.analysis.compare.comparisons[0];
    check_holds(k->percent, 100 * (0.38 / 0.42 - 1));
    ck_assert_int_eq(k->verdict, CW_VERDICT_LOWER);
    ck_assert_double_gt(k->df, one.analysis.compare.comparisons[0].df);
    compared_free(&one);
    compared_free(&both);
}
END_TEST

/* Cape on one day and jacket on another: what shifts a whole day does not cancel, and no likeness
 * of the runs of a day makes it smaller. In still air, with surveyed heights, the runs scatter by
 * next to nothing; the wind alone is said to be uncertain by 0.2 m/s, some 2 % of CdA, each day. */
START_TEST(days_apart_keep_their_budgets) {
    struct compared c = {0};
    struct cw_simulate_options options = compared_options(17);
    cw_simulate_elevation(&options, CW_ELEVATION_SURVEYED);
    options.gust_sd_ms = 0;
    compared_order(&options, "AAAA");
    compared_add(&c, &options, SIZE_MAX, 0);
    options.seed = 18;
    options.start_s += 86400;
    compared_order(&options, "BBBB");
    compared_add(&c, &options, SIZE_MAX, 0);
    compared_compare(&c, NULL);
    const struct cw_comparison *k = &c.analysis.compare.comparisons[0];
    double sum = 0;
    for (size_t o = 0; o < 2; o++)
        for (size_t b = 0; b < c.analysis.outings[o].fit.workings->budget.n; b++) {
            const struct cw_cause *cause = &c.analysis.outings[o].fit.workings->budget.causes[b];
            double mean = 0;
            for (size_t i = 0; i < 4; i++)
                mean += cause->effect[1 + i] /
                        c.analysis.outings[o].fit.runs[i].together_cda_m2.value / 4;
            sum += mean * mean;
        }
    ck_assert_double_gt(sqrt(sum), 0.025);
    ck_assert_double_ge(k->percent.standard_error,
                        99 * exp(log1p(k->percent.value / 100)) * sqrt(sum));
    check_holds(k->percent, 100 * (0.38 / 0.42 - 1));
    ck_assert_double_eq_tol(c.analysis.compare.systematic_difference_percent, 100 * sqrt(sum), 0.1);
    ck_assert(isnan(k->time_over_road_s.value)); /* no road has both */
    ck_assert(isnan(k->wind_to_explain_ms));
    compared_free(&c);
}
END_TEST

START_TEST(three_setups_are_adjusted) {
    struct compared c;
    struct cw_simulate_options options = compared_options(19);
    options.n_setups = 3;
    options.setups[2] = options.setups[1];
    strcpy(options.setups[2].name, "skinsuit");
    options.setups[2].cda_m2 = 0.375;
    cw_simulate_order(&options, 2);
    compared_make(&c, &options);
    static const size_t pairs[3][2] = {{1, 0}, {2, 0}, {2, 1}};
    double p[3], adjusted[3];
    ck_assert_uint_eq(c.analysis.compare.n_comparisons, 3);
    for (size_t i = 0; i < 3; i++) {
        const struct cw_comparison *k = &c.analysis.compare.comparisons[i];
        ck_assert_uint_eq(k->setup, pairs[i][0]);
        ck_assert_uint_eq(k->reference, pairs[i][1]);
        check_holds(
            k->percent,
            100 * (options.setups[k->setup].cda_m2 / options.setups[k->reference].cda_m2 - 1));
        p[i] = k->p_value;
    }
    cw_holm_adjust(3, p, adjusted);
    for (size_t i = 0; i < 3; i++)
        ck_assert_double_eq(c.analysis.compare.comparisons[i].p_adjusted, adjusted[i]);
    ck_assert_double_gt(adjusted[0] + adjusted[1] + adjusted[2], p[0] + p[1] + p[2]);
    ck_assert_int_eq(c.analysis.compare.comparisons[0].verdict, CW_VERDICT_LOWER);
    ck_assert_int_eq(c.analysis.compare.comparisons[1].verdict, CW_VERDICT_LOWER);
    compared_free(&c);
}
END_TEST

START_TEST(one_run_each_rests_on_the_noise) {
    struct compared c;
    struct cw_simulate_options options = compared_options(20);
    compared_order(&options, "AB");
    compared_make(&c, &options);
    const struct cw_comparison *k = &c.analysis.compare.comparisons[0];
    ck_assert(warns(&c.analysis.compare, "one run a setup"));
    check_holds(k->percent, 100 * (0.38 / 0.42 - 1));
    ck_assert_double_ge(k->df, 1);
    ck_assert(isfinite(k->smallest_detectable_percent));
    for (size_t i = 0; i < 2; i++) {
        ck_assert(isnan(c.analysis.compare.runs[i].p_adjusted));
        ck_assert(!c.analysis.compare.runs[i].outlier);
    }
    compared_free(&c);
}
END_TEST

START_TEST(drift_and_setups_confounded) {
    struct compared c;
    struct cw_simulate_options options = compared_options(21);
    compared_order(&options, "AAAABBBB");
    compared_make(&c, &options);
    ck_assert(warns(&c.analysis.compare, "cannot tell a drift"));
    double blocks = c.analysis.compare.comparisons[0].percent.standard_error;
    compared_free(&c);
    /* Where the order cancels a drift, the interval need not hold one. */
    compared_order(&options, "ABBAABBA");
    compared_make(&c, &options);
    ck_assert_double_lt(c.analysis.compare.comparisons[0].percent.standard_error, 0.9 * blocks);
    ck_assert_uint_eq(c.analysis.compare.warnings.n, 0);
    ck_assert(c.analysis.compare.has_drift);
    ck_assert_double_lt(fabs(c.analysis.compare.drift_percent_per_hour.value), 2);
    compared_free(&c);
    compared_order(&options, "ABBA");
    compared_make(&c, &options);
    ck_assert_uint_eq(c.analysis.compare.warnings.n, 0);
    compared_free(&c);
}
END_TEST

/* One cape morning, from cold to warm, and the jacket in the heat of the day. How tyres answer is a
 * cause that stays in such a difference, and cancels where the setups took turns; the air and tyres
 * of its own runs alone make the jacket's faster. */
START_TEST(cold_blocks_keep_what_tyres_may_do) {
    static const char *const orders[] = {"AAAABBBB", "ABBAABBA"};
    double by_tyres[2], by_air_s[2], half[2];
    for (int k = 0; k < 2; k++) {
        struct compared c;
        struct cw_simulate_options options = compared_options(23);
        compared_order(&options, orders[k]);
        options.n_recordings = 0;
        options.temperature_c = 8;
        options.warming_k = 24;
        options.crr_fall_percent = 1;
        compared_make(&c, &options);
        const struct cw_compare *compare = &c.analysis.compare;
        by_tyres[k] = NAN;
        for (size_t i = 0; i < compare->n_causes; i++)
            if (compare->causes[i].kind == CW_CAUSE_WARM)
                by_tyres[k] = fabs(compare->causes[i].difference_percent);
        by_air_s[k] = compare->comparisons[0].time_by_air_s;
        half[k] = compare->comparisons[0].percent.high - compare->comparisons[0].percent.low;
        check_holds(compare->comparisons[0].percent, 100 * (0.38 / 0.42 - 1));
        compared_free(&c);
    }
    /* 0.5 % of 0.005 for each of 13.7 K between the blocks' means is 0.00034, which over 1 km of 6
     * % is some 1 % of the drag, less what runs of one block, which warm up too, tell of it. */
    ck_assert_double_gt(by_tyres[0], 0.2);
    ck_assert_double_lt(by_tyres[0], 2);
    ck_assert_double_lt(by_tyres[1], 0.05);
    ck_assert_double_gt(half[0], half[1]);
    /* 5 % less density and 14 % less Crr */
    ck_assert_double_lt(by_air_s[0], -0.5);
    ck_assert_double_gt(by_air_s[0], -4);
    ck_assert_double_lt(fabs(by_air_s[1]), 0.02);
}
END_TEST

/* The third cape run was ridden sitting up, 15 % more drag, and nobody wrote it down. */
START_TEST(outlier_is_found_and_named) {
    struct compared c = {0};
    struct cw_simulate_options options = compared_options(22);
    options.n_setups = 3;
    options.setups[2] = options.setups[0];
    strcpy(options.setups[2].name, "sitting-up");
    options.setups[2].cda_m2 = 0.42 * 1.15;
    compared_order(&options, "ABBACBBA");
    compared_add(&c, &options, 4, 0);
    compared_compare(&c, NULL);
    ck_assert_uint_eq(c.analysis.compare.n_setups, 2);
    for (size_t i = 0; i < 8; i++)
        ck_assert_msg(c.analysis.compare.runs[i].outlier == (i == 4), "run %zu: %g %%, p %g", i + 1,
                      c.analysis.compare.runs[i].percent, c.analysis.compare.runs[i].p_adjusted);
    ck_assert_double_gt(c.analysis.compare.runs[4].percent, 5);
    compared_free(&c);
}
END_TEST

/* 26 runs of 2 setups leave 23 degrees of freedom, for which Student's t of 3.485 has a two-sided
 * p of 0.002, and 24 leave 21 and 3.527 (NIST/SEMATECH e-Handbook of Statistical
 * Methods, 1.3.6.7.2; from memory): 0.052 for the worst of 26, 0.048 for that of 24. */
START_TEST(outliers_are_judged_among_all) {
    enum { MOST = 26 };
    double residual[MOST] = {0.01}, t[MOST] = {3.485};
    struct cw_run_among runs[MOST];
    struct cw_fit_way way = {.worst_m = 120, .worst_ms = 0.4};
    struct cw_fit_workings workings = {.ways.at = &way};
    const struct cw_fit fit = {.workings = &workings}, *fits[] = {&fit};
    struct cw_run_model model = {.n = MOST, .p = 2, .residual = residual, .t = t};
    memset(runs, 0, sizeof runs);
    cw_run_model_among(&model, fits, runs);
    ck_assert_double_eq_tol(runs[0].p_adjusted, 0.052, 1e-4);
    ck_assert(!runs[0].outlier);
    ck_assert_double_eq_tol(runs[0].percent, 1.005, 1e-4);
    ck_assert_double_eq(runs[0].worst_m, 120);
    ck_assert_double_eq(runs[0].worst_ms, 0.4);
    ck_assert_double_eq(runs[1].p_adjusted, 1);
    ck_assert(!runs[1].outlier);
    model.n = 24;
    t[0] = -3.527;
    cw_run_model_among(&model, fits, runs);
    ck_assert_double_eq_tol(runs[0].p_adjusted, 0.048, 1e-4);
    ck_assert(runs[0].outlier);
    model.n = 3; /* nothing is left to judge by */
    cw_run_model_among(&model, fits, runs);
    ck_assert(isnan(runs[0].p_adjusted) && !runs[0].outlier);
}
END_TEST

/* Level, from 11 m/s to a standstill in still air: how much farther who has less drag rolls is what
 * the made runs themselves did. */
START_TEST(runout_is_what_the_runs_did) {
    struct compared c;
    struct cw_simulate_options options = compared_options(14);
    options.n_segments = 1;
    options.segments[0] = (struct cw_simulate_segment){.length_m = 500};
    options.start_speed_ms = 11;
    options.gust_sd_ms = 0;
    options.setups[1].cda_m2 = 0.3;
    compared_make(&c, &options);
    const struct cw_comparison *k = &c.analysis.compare.comparisons[0];
    double end_m[2] = {0, 0};
    for (size_t i = 0; i < 8; i++) {
        ck_assert(c.truth[0].runs[i].descent.stopped);
        end_m[c.truth[0].runs[i].setup] += c.truth[0].runs[i].descent.end_s_m / 4;
    }
    ck_assert_double_gt(end_m[1] - end_m[0], 20);
    check_holds(k->runout_m, end_m[1] - end_m[0]);
    ck_assert_double_eq_tol(k->runout_m.value, end_m[1] - end_m[0], 0.2 * (end_m[1] - end_m[0]));
    compared_free(&c);
}
END_TEST

START_TEST(no_difference_is_not_decided) {
    struct compared c;
    struct cw_simulate_options options = compared_options(23);
    options.setups[1].cda_m2 = options.setups[0].cda_m2;
    compared_make(&c, &options);
    const struct cw_comparison *k = &c.analysis.compare.comparisons[0];
    ck_assert_int_eq(k->verdict, CW_VERDICT_UNDECIDED);
    check_holds(k->percent, 0);
    /* 80 % power at 5 % is close to t(0.975) + t(0.8) standard errors (2.80 for a normal; Cochran
     * and Cox 1957, Experimental Designs, section 2.21, from memory); the noncentral t is 2 % less.
     */
    double expected = cw_t_quantile(0.975, k->df) + cw_t_quantile(0.8, k->df),
           log_error = log1p(k->percent.value / 100 + k->percent.standard_error / 100) -
                       log1p(k->percent.value / 100);
    ck_assert_double_gt(expected, 2.80);
    ck_assert_double_eq_tol(k->smallest_detectable_percent / (100 * log_error * expected), 1, 0.04);
    compared_free(&c);
}
END_TEST

START_TEST(reference_is_chosen) {
    struct compared c = {0};
    struct cw_simulate_options options = compared_options(24);
    compared_order(&options, "ABBA");
    compared_add(&c, &options, SIZE_MAX, 0);
    compared_compare(&c, "jacket");
    ck_assert_str_eq(c.analysis.compare.setups[0].name, "jacket");
    ck_assert_double_gt(c.analysis.compare.comparisons[0].percent.value, 0);
    ck_assert_int_eq(c.analysis.compare.comparisons[0].verdict, CW_VERDICT_HIGHER);
    cw_compare_free(&c.analysis.compare);
    const struct cw_fit *fit = &c.analysis.outings[0].fit;
    struct cw_compare_options wrong = {.reference = "cloak", .level = 0.05};
    struct cw_error error;
    ck_assert_int_eq(cw_compare_setups(&fit, 1, &wrong, &c.analysis.compare, &error), CW_E_DATA);
    ck_assert_ptr_nonnull(strstr(error.message, "cloak"));
    compared_free(&c);
}
END_TEST

START_TEST(one_setup_is_compared_with_nothing) {
    struct compared c;
    struct cw_simulate_options options = compared_options(25);
    compared_order(&options, "AAA");
    compared_make(&c, &options);
    ck_assert_uint_eq(c.analysis.compare.n_setups, 1);
    ck_assert_uint_eq(c.analysis.compare.n_comparisons, 0);
    check_holds(c.analysis.compare.setups[0].cda_m2, 0.42);
    ck_assert(isnan(c.analysis.compare.systematic_difference_percent) ||
              isnan(c.analysis.compare.causes[0].difference_percent));
    for (size_t i = 0; i < c.analysis.outings[0].fit.n_runs; i++)
        c.analysis.outings[0].fit.runs[i].setup = CW_NO_SETUP;
    cw_compare_free(&c.analysis.compare);
    const struct cw_fit *fit = &c.analysis.outings[0].fit;
    struct cw_compare_options usual = cw_compare_options_default();
    struct cw_error error;
    ck_assert_int_eq(cw_compare_setups(&fit, 1, &usual, &c.analysis.compare, &error), CW_E_DATA);
    compared_free(&c);
}
END_TEST

/* Satellite heights, positions alone, a short road in gusty air: next to nothing can be told, and
 * every number is still a number and no verdict is given. */
START_TEST(poor_data_stay_finite) {
    struct compared c;
    struct cw_simulate_options options = compared_options(26);
    cw_simulate_elevation(&options, CW_ELEVATION_SATELLITE);
    options.speed = CW_SIMULATE_SPEED_NONE;
    options.distance = false;
    options.gust_sd_ms = 1;
    options.n_segments = 1;
    options.segments[0] = (struct cw_simulate_segment){500, -5, 0};
    compared_order(&options, "ABBA");
    compared_make(&c, &options);
    const struct cw_comparison *k = &c.analysis.compare.comparisons[0];
    ck_assert(isfinite(k->percent.value) && isfinite(k->percent.low));
    ck_assert(k->p_value > 0 && k->p_value <= 1);
    ck_assert_int_eq(k->verdict, CW_VERDICT_UNDECIDED);
    ck_assert(isfinite(c.analysis.compare.scatter_percent));
    for (size_t i = 0; i < c.analysis.compare.n_setups; i++) { /* a part is less than the whole */
        const struct cw_estimate *cda_m2 = &c.analysis.compare.setups[i].cda_m2;
        ck_assert_double_gt(cda_m2->noise_standard_error, 0);
        ck_assert_double_lt(cda_m2->noise_standard_error, cda_m2->standard_error);
    }
    for (size_t i = 0; i < c.analysis.compare.n_runs; i++) {
        ck_assert(isfinite(c.analysis.compare.runs[i].percent));
        ck_assert(isfinite(c.analysis.compare.runs[i].worst_ms));
    }
    compared_free(&c);
}
END_TEST

/* As if the run's CdA were no more than that, whatever is known of the others. */
static void know_nothing_of(struct cw_fit *fit, size_t run, struct cw_estimate cda_m2) {
    size_t n = fit->workings->information.n, at = fit->n_tyres + run;
    fit->runs[run].together_cda_m2 = cda_m2;
    fit->workings->value[at] = cda_m2.value;
    for (size_t j = 0; j < n; j++)
        fit->workings->covariance[at * n + j] = fit->workings->covariance[j * n + at] = 0;
    double variance = cda_m2.standard_error * cda_m2.standard_error;
    fit->workings->covariance[at * n + at] = variance;
    double *known = fit->workings->information.matrix;
    for (size_t j = 0; j < n; j++) known[at * n + j] = known[j * n + at] = 0;
    known[at * n + at] = 1 / variance;
    fit->workings->information.vector[at] = cda_m2.value / variance;
}

/* Runs whose estimates are nothing but noise take part in nothing, and are named. Their logarithms
 * were once taken about a CdA of 0.05 m2, and differences of 10^17 % came of it. */
START_TEST(setup_that_tells_nothing) {
    struct compared c = {0};
    struct cw_simulate_options options = compared_options(27);
    options.n_setups = 3;
    options.setups[2] = options.setups[1];
    strcpy(options.setups[2].name, "cloak");
    compared_order(&options, "ACBBCA");
    compared_add(&c, &options, SIZE_MAX, 0);
    compared_fit(&c);
    struct cw_fit *fit = &c.analysis.outings[0].fit;
    for (size_t i = 0; i < fit->n_runs; i++)
        if (fit->runs[i].setup == 2)
            know_nothing_of(fit, i, (struct cw_estimate){-0.3, 0.25, -0.8, 0.2, 0.25});
    compared_compare(&c, "cloak");
    ck_assert_uint_eq(c.analysis.compare.n_setups, 3);
    ck_assert_uint_eq(c.analysis.compare.n_told, 2);
    ck_assert_str_eq(c.analysis.compare.setups[2].name, "cloak");
    ck_assert(isnan(c.analysis.compare.setups[2].cda_m2.value));
    ck_assert_uint_eq(c.analysis.compare.n_comparisons, 1);
    ck_assert_uint_eq(c.analysis.compare.n_runs, 4);
    check_holds(c.analysis.compare.comparisons[0].percent, 100 * (0.38 / 0.42 - 1));
    ck_assert(warns(&c.analysis.compare, "the runs of cloak tell no CdA"));
    cw_compare_free(&c.analysis.compare);
    for (size_t i = 0; i < fit->n_runs; i++)
        know_nothing_of(fit, i, (struct cw_estimate){0.1, 0.25, -0.4, 0.6, 0.25});
    compared_compare(&c, NULL);
    ck_assert_uint_eq(c.analysis.compare.n_told, 0);
    ck_assert_uint_eq(c.analysis.compare.n_comparisons, 0);
    ck_assert_uint_eq(c.analysis.compare.n_runs, 0);
    ck_assert_uint_eq(c.analysis.compare.warnings.n, 3);
    compared_free(&c);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("compare/compare");
    TCase *tests = tcase_create("compare");
    tcase_set_timeout(tests, 300);
    /* What their calls reach in memory the others reach too: not run again under sanitizers. */
    TCase *numbers = tcase_create("numbers");
    tcase_set_tags(numbers, "numbers");
    tcase_set_timeout(numbers, 300);
    tcase_add_test(tests, what_a_difference_is_worth);
    tcase_add_test(tests, outings_are_combined);
    tcase_add_test(tests, days_apart_keep_their_budgets);
    tcase_add_test(tests, three_setups_are_adjusted);
    tcase_add_test(tests, one_run_each_rests_on_the_noise);
    tcase_add_test(numbers, drift_and_setups_confounded);
    tcase_add_test(tests, cold_blocks_keep_what_tyres_may_do);
    tcase_add_test(tests, outlier_is_found_and_named);
    tcase_add_test(tests, outliers_are_judged_among_all);
    tcase_add_test(tests, runout_is_what_the_runs_did);
    tcase_add_test(tests, reference_is_chosen);
    tcase_add_test(tests, one_setup_is_compared_with_nothing);
    tcase_add_test(tests, setup_that_tells_nothing);
    tcase_add_test(tests, poor_data_stay_finite);
    tcase_add_test(numbers, known_difference_is_found);
    tcase_add_test(numbers, load_is_no_drag);
    tcase_add_test(numbers, unseen_wind_looks_like_drag);
    tcase_add_test(numbers, no_difference_is_not_decided);
    suite_add_tcase(suite, tests);
    suite_add_tcase(suite, numbers);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
