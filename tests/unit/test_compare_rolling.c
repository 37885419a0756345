/* Rolling beside drag, on made-up outings whose truth is known. */
#include <check.h>
#include <math.h>
#include <string.h>

#include "compare/run_model.h"
#include "compared.h"
#include "fit/workings.h"
#include "stats/tests.h"

/* Hard and soft tyres on a road that dips, which tells them apart best. */
static struct cw_simulate_options tyre_options(unsigned long seed) {
    struct cw_simulate_options options = compared_options(seed);
    static const char *const names[2] = {"hard", "soft"};
    cw_simulate_road(&options, "dip", NULL);
    for (size_t s = 0; s < 2; s++) {
        strcpy(options.setups[s].name, names[s]);
        strcpy(options.setups[s].tyres, names[s]);
        options.setups[s].cda_m2 = 0.4;
        options.setups[s].crr = s ? 0.0062 : 0.0048;
    }
    return options;
}

static void say_same_drag(struct cw_simulated *truth, const char *name) {
    for (size_t s = 0; s < truth->outing.n_setups; s++) {
        free(truth->outing.setups[s].drag);
        truth->outing.setups[s].drag = strdup(name);
    }
}

/* One outing whose setups are said to have the same drag. */
static void make_said(struct compared *c, const struct cw_simulate_options *options) {
    *c = (struct compared){0};
    say_same_drag(compared_simulate(c, options), "position");
    compared_hand_over(c);
    compared_compare(c, NULL);
}

static void check_holds(struct cw_estimate estimate, double truth) {
    ck_assert_msg(estimate.low < truth && truth < estimate.high, "%g to %g does not hold %g",
                  estimate.low, estimate.high, truth);
}

static const struct cw_comparison *first(const struct compared *c) {
    return &c->analysis.compare.comparisons[0];
}

/* F = Crr m g + 1/2 rho CdA v^2 on the level, P = F v (Martin et al. 1998, J. Appl. Biomech.
 * 14:276, eqs. 3 and 5; bearings cancel): the difference from those of its parts, its error from
 * theirs and their correlation. */
START_TEST(sum_is_that_of_its_parts) {
    struct compared c;
    struct cw_simulate_options options = tyre_options(31);
    options.setups[1].cda_m2 = 0.41;
    compared_make(&c, &options);
    const struct cw_comparison *k = first(&c);
    const struct cw_fit *fit = &c.analysis.outings[0].fit;
    double weight_n = fit->runs[0].mass_kg * fit->place.gravity_ms2;
    ck_assert(k->rolling.compared);
    check_holds(k->rolling.crr, 0.0014);
    check_holds(k->percent, 2.5);
    ck_assert_int_eq(k->rolling.verdict, CW_VERDICT_HIGHER);
    for (size_t i = 0; i < CW_FORCES; i++) {
        double v = k->force[i].speed_kmh / 3.6, head = 0.5 * fit->place.density_kgm3 * v * v;
        double drag = head * k->difference_m2.value, rolls = weight_n * k->rolling.crr.value;
        double drag_se = head * k->difference_m2.standard_error,
               rolls_se = weight_n * k->rolling.crr.standard_error;
        double se = sqrt(drag_se * drag_se + rolls_se * rolls_se +
                         2 * k->rolling.correlation * drag_se * rolls_se);
        ck_assert_double_eq_tol(k->force[i].force_n.value, drag + rolls, 1e-3);
        /* Here errors of the level, and the mixture's shape, come in too. */
        ck_assert_double_eq_tol(k->force[i].force_n.standard_error, se, 0.08 * se);
        ck_assert_double_eq_tol(k->force[i].power_w.value, v * k->force[i].force_n.value, 1e-9);
        check_holds(k->force[i].force_n, weight_n * 0.0014 + head * 0.01);
    }
    /* At speeds that are round in mph too; a mile is 1609.344 m (the international one, 1959). */
    static const double mph[CW_FORCES] = {12, CW_SUM_MPH, 25};
    for (size_t i = 0; i < CW_FORCES; i++) {
        const struct cw_force *force = &k->force_mph[i];
        double v = mph[i] * 1609.344 / 3600, head = 0.5 * fit->place.density_kgm3 * v * v;
        double newtons = head * k->difference_m2.value + weight_n * k->rolling.crr.value;
        ck_assert_double_eq_tol(force->speed_kmh, 3.6 * v, 1e-9);
        ck_assert_double_eq_tol(force->force_n.value, newtons, 1e-3);
        ck_assert_double_eq_tol(force->power_w.value, v * force->force_n.value, 1e-9);
    }
    ck_assert_double_eq(k->force[0].speed_kmh, 20);
    ck_assert_double_eq(k->force[1].speed_kmh, CW_SUM_KMH);
    ck_assert_double_eq(k->force[2].power_w.value, k->watts_at_40kmh.value);
    ck_assert_double_lt(k->rolling.correlation, 0);
    ck_assert_double_gt(k->time_over_road_s.value, 0);
    compared_free(&c);
}
END_TEST

/* Where nothing differs nothing is found; drag and rolling are two tests. */
START_TEST(no_difference_is_not_decided) {
    struct compared c;
    struct cw_simulate_options options = tyre_options(32);
    options.setups[1].crr = options.setups[0].crr;
    compared_make(&c, &options);
    const struct cw_comparison *k = first(&c);
    const double p[2] = {k->p_value, k->rolling.p_value};
    double adjusted[2];
    check_holds(k->rolling.crr, 0);
    check_holds(k->rolling.percent, 0);
    check_holds(k->percent, 0);
    cw_holm_adjust(2, p, adjusted);
    ck_assert_double_eq(k->p_adjusted, adjusted[0]);
    ck_assert_double_eq(k->rolling.p_adjusted, adjusted[1]);
    ck_assert_int_eq(k->rolling.verdict, CW_VERDICT_UNDECIDED);
    ck_assert_int_eq(k->rolling.told, CW_TOLD_NONE);
    ck_assert_double_gt(k->rolling.smallest_detectable, 2.5 * k->rolling.crr.standard_error);
    compared_free(&c);
}
END_TEST

/* What is said to be the same is used: no more is asked of the runs than how the tyres roll. */
START_TEST(same_drag_is_used) {
    struct compared apart, said;
    struct cw_simulate_options options = tyre_options(33);
    compared_make(&apart, &options);
    make_said(&said, &options);
    const struct cw_comparison *k = first(&said), *other = first(&apart);
    ck_assert(k->drag_said && !other->drag_said);
    ck_assert_uint_eq(said.analysis.compare.setups[1].drag, 0);
    ck_assert_double_eq(k->percent.value, 0);
    ck_assert_double_eq(k->percent.high, 0);
    ck_assert(isnan(k->p_value) && isnan(k->p_adjusted));
    ck_assert_int_eq(k->verdict, CW_VERDICT_UNDECIDED);
    ck_assert_double_eq(k->rolling.p_adjusted, k->rolling.p_value);
    check_holds(k->rolling.crr, 0.0014);
    ck_assert_double_lt(k->rolling.crr.standard_error, 0.95 * other->rolling.crr.standard_error);
    ck_assert_double_eq_tol(other->rolling.standard_error_if_same_drag,
                            k->rolling.crr.standard_error, 0.02 * k->rolling.crr.standard_error);
    ck_assert(isnan(k->rolling.standard_error_if_same_drag));
    ck_assert_double_eq(said.analysis.compare.setups[0].cda_m2.value,
                        said.analysis.compare.setups[1].cda_m2.value);
    /* The sum is rolling alone, at any speed. */
    ck_assert_double_eq_tol(k->force[0].force_n.value, k->force[2].force_n.value, 1e-9);
    ck_assert_uint_eq(said.analysis.compare.warnings.n, 0);
    compared_free(&apart);
    compared_free(&said);
}
END_TEST

/* Said, but 8 % off: it is not believed without a word. */
START_TEST(said_against_the_runs) {
    struct compared c;
    struct cw_simulate_options options = tyre_options(34);
    options.gust_sd_ms = 0.02;
    options.setups[1].cda_m2 = 0.432;
    make_said(&c, &options);
    const struct cw_warnings *warnings = &c.analysis.compare.warnings;
    ck_assert_uint_eq(warnings->n, 1);
    ck_assert_int_eq(warnings->at[0].kind, CW_COMPARE_SAID_SAME + 1);
    ck_assert_ptr_nonnull(strstr(warnings->at[0].text, "said to have the same drag, yet soft has"));
    ck_assert_ptr_nonnull(strstr(warnings->at[0].text, "% more ("));
    compared_free(&c);
}
END_TEST

/* Two setups on one pair of tyres, a third on another: how the tyres differ is one question. */
START_TEST(tyres_are_tested_once) {
    struct compared c;
    struct cw_simulate_options options = tyre_options(35);
    options.n_setups = 3;
    options.setups[2] = options.setups[1];
    strcpy(options.setups[2].name, "low");
    options.setups[2].cda_m2 = 0.37;
    cw_simulate_order(&options, 2);
    compared_make(&c, &options);
    const struct cw_comparison *k = first(&c);
    double p[4], adjusted[4];
    ck_assert_uint_eq(c.analysis.compare.n_comparisons, 3);
    ck_assert(k[0].rolling.compared && k[1].rolling.compared && !k[2].rolling.compared);
    ck_assert_double_eq(k[0].rolling.p_value, k[1].rolling.p_value);
    for (size_t i = 0; i < 3; i++) p[i] = k[i].p_value;
    p[3] = k[0].rolling.p_value;
    cw_holm_adjust(4, p, adjusted);
    for (size_t i = 0; i < 3; i++) ck_assert_double_eq(k[i].p_adjusted, adjusted[i]);
    ck_assert_double_eq(k[0].rolling.p_adjusted, adjusted[3]);
    ck_assert_double_eq(k[1].rolling.p_adjusted, adjusted[3]);
    ck_assert(isnan(k[2].rolling.crr.value) && isnan(k[2].rolling.p_adjusted));
    compared_free(&c);
}
END_TEST

/* A wind in all runs is one in each kind of them: their answers add up to what the budget has of
 * the outing's. And a wind in the runs of one pair of tyres moves its Crr the most. */
START_TEST(winds_of_kinds_add_up) {
    struct compared c;
    struct cw_simulate_options options = tyre_options(36);
    compared_make(&c, &options);
    const struct cw_budget *budget = &c.analysis.outings[0].fit.workings->budget;
    ck_assert_uint_eq(budget->n_kinds, 2);
    for (size_t b = 0; b < budget->n; b++) {
        const struct cw_cause *cause = &budget->causes[b];
        if (cause->kind != CW_CAUSE_WIND) continue;
        for (size_t x = 0; x < budget->n_x; x++) {
            double sum = budget->by_wind[x] + budget->by_wind[budget->n_x + x],
                   all = -cause->effect[x] / cause->uncertainty;
            ck_assert_double_eq_tol(sum, all, 0.05 * fabs(all) + 1e-6);
        }
    }
    ck_assert_double_gt(fabs(budget->by_wind[0]), fabs(budget->by_wind[1]));
    compared_free(&c);
}
END_TEST

/* Two days with the same tyres say more than one, and roads that roll differently do not pass for
 * tyres that do. */
START_TEST(outings_are_pooled) {
    struct compared one, both = {0};
    struct cw_simulate_options options = tyre_options(37);
    compared_make(&one, &options);
    compared_add(&both, &options, SIZE_MAX, 0);
    options.seed = 38;
    options.start_s += 86400;
    options.setups[0].crr += 0.001;
    options.setups[1].crr += 0.001;
    compared_add(&both, &options, SIZE_MAX, 0);
    compared_compare(&both, NULL);
    check_holds(first(&both)->rolling.crr, 0.0014);
    ck_assert_double_lt(first(&both)->rolling.crr.standard_error,
                        0.85 * first(&one)->rolling.crr.standard_error);
    compared_free(&one);
    compared_free(&both);
}
END_TEST

/* A Crr that was given is not compared, nor are tyres that are the same. */
START_TEST(nothing_to_compare) {
    struct compared c = {0};
    struct cw_simulate_options options = tyre_options(39);
    compared_order(&options, "ABBA");
    struct cw_simulated *truth = compared_simulate(&c, &options);
    truth->outing.crr = 0.005;
    truth->outing.crr_uncertainty = 0.001;
    compared_hand_over(&c);
    compared_compare(&c, NULL);
    ck_assert(!first(&c)->rolling.compared);
    ck_assert(isnan(first(&c)->rolling.crr.value));
    ck_assert_uint_eq(c.analysis.outings[0].fit.workings->budget.n_kinds, 0);
    compared_free(&c);
    c = (struct compared){0};
    strcpy(options.setups[1].tyres, options.setups[0].tyres);
    compared_add(&c, &options, SIZE_MAX, 0);
    compared_compare(&c, NULL);
    ck_assert(!first(&c)->rolling.compared);
    ck_assert(isfinite(first(&c)->force[0].force_n.value));
    compared_free(&c);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("compare/rolling");
    TCase *tests = tcase_create("rolling");
    tcase_set_timeout(tests, 300);
    tcase_add_test(tests, same_drag_is_used);
    tcase_add_test(tests, said_against_the_runs);
    tcase_add_test(tests, tyres_are_tested_once);
    tcase_add_test(tests, outings_are_pooled);
    tcase_add_test(tests, nothing_to_compare);
    /* What their calls reach in memory the others reach too: not run again under sanitizers. */
    TCase *numbers = tcase_create("numbers");
    tcase_set_tags(numbers, "numbers");
    tcase_set_timeout(numbers, 300);
    tcase_add_test(numbers, sum_is_that_of_its_parts);
    tcase_add_test(numbers, no_difference_is_not_decided);
    tcase_add_test(numbers, winds_of_kinds_add_up);
    suite_add_tcase(suite, tests);
    suite_add_tcase(suite, numbers);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
