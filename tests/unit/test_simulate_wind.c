/* The wind about its mean, part by part. Tolerances are four standard errors. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "simulate/wind.h"

#define RUNS 3000
#define STEP_S 0.5
#define RUN_S 80
#define EACH_S 400 /* from a run's beginning to the next one's */

static struct cw_simulate_options calm(void) {
    struct cw_simulate_options options = cw_simulate_options_default();
    options.gust_sd_ms = 0;
    return options;
}

/* The wind, with a breeze of its own that closed gives back. */
static struct cw_wind opened(const struct cw_simulate_options *options) {
    struct cw_wind wind;
    struct cw_breeze *breeze = calloc(1, sizeof *breeze);
    ck_assert_int_eq(cw_wind_open(options, STEP_S, 100, breeze, &wind, NULL), CW_OK);
    return wind;
}

static void closed(struct cw_wind *wind) {
    cw_breeze_free(wind->breeze);
    free(wind->breeze);
    cw_wind_close(wind);
}

/* A run's own part is the same all through it, and another in each. */
START_TEST(own_part_is_of_a_run) {
    struct cw_simulate_options options = calm();
    options.run_wind_sd_ms = 0.5;
    struct cw_wind wind = opened(&options);
    double sum2 = 0, product = 0, before = 0;
    for (size_t i = 0; i < RUNS; i++) {
        ck_assert_int_eq(cw_wind_begin(&wind, i, (double)i * EACH_S, NULL), CW_OK);
        double value = cw_gust_series_at(0, &wind.series);
        ck_assert_double_eq(cw_gust_series_at(RUN_S, &wind.series), value);
        sum2 += value * value / RUNS;
        product += value * before / RUNS;
        before = value;
        ck_assert_int_eq(cw_wind_end(&wind, RUN_S, NULL), CW_OK);
    }
    ck_assert_double_eq_tol(sqrt(sum2), 0.5, 0.5 * 4 / sqrt(2 * RUNS));
    ck_assert_double_eq_tol(product / sum2, 0, 4 / sqrt(RUNS));
    closed(&wind);
}
END_TEST

/* The wander is one process in clock time: correlated as exp(-dt/time) within a run, from a run to
 * the next, and across the gap between, where nobody coasted. */
START_TEST(wander_goes_on_in_clock_time) {
    struct cw_simulate_options options = calm();
    options.wander_wind_sd_ms = 0.4;
    options.wander_wind_time_s = 900;
    struct cw_wind wind = opened(&options);
    double sum2 = 0, within = 0, gap = 0, between = 0, first = 0, last = 0;
    for (size_t i = 0; i < RUNS; i++) {
        ck_assert_int_eq(cw_wind_begin(&wind, i, (double)i * EACH_S, NULL), CW_OK);
        double begin = cw_gust_series_at(0, &wind.series);
        double end = cw_gust_series_at(RUN_S, &wind.series);
        sum2 += begin * begin / RUNS;
        within += begin * end / RUNS;
        gap += last * begin / RUNS;
        between += first * begin / RUNS;
        first = begin;
        last = end;
        ck_assert_int_eq(cw_wind_end(&wind, RUN_S, NULL), CW_OK);
    }
    /* 3000 runs are some 670 correlation times: sd within 0.04 of itself, twice that in square. */
    ck_assert_double_eq_tol(sqrt(sum2), 0.4, 0.4 * 4 / sqrt(RUNS * EACH_S / 900.0));
    ck_assert_double_eq_tol(within / sum2, exp(-RUN_S / 900.0), 0.03);
    ck_assert_double_eq_tol(gap / sum2, exp(-(EACH_S - RUN_S) / 900.0), 0.06);
    ck_assert_double_eq_tol(between / sum2, exp(-EACH_S / 900.0), 0.07);
    closed(&wind);
}
END_TEST

/* Each part has its own numbers: what is added leaves the gusts as they were. */
START_TEST(parts_add_up) {
    struct cw_simulate_options gusts = cw_simulate_options_default(), own = calm(), wander = calm();
    own.run_wind_sd_ms = 0.5;
    wander.wander_wind_sd_ms = 0.3;
    struct cw_simulate_options all = gusts;
    all.run_wind_sd_ms = 0.5;
    all.wander_wind_sd_ms = 0.3;
    const struct cw_simulate_options *options[] = {&gusts, &own, &wander, &all};
    struct cw_wind wind[4];
    for (int k = 0; k < 4; k++) wind[k] = opened(options[k]);
    for (size_t i = 0; i < 5; i++) {
        for (int k = 0; k < 4; k++)
            ck_assert_int_eq(cw_wind_begin(&wind[k], i, (double)i * EACH_S, NULL), CW_OK);
        for (double t = 0; t < RUN_S; t += 3.3) {
            double value[4];
            for (int k = 0; k < 4; k++) value[k] = cw_gust_series_at(t, &wind[k].series);
            ck_assert_double_eq_tol(value[3], value[0] + value[1] + value[2], 1e-12);
        }
        for (int k = 0; k < 4; k++) ck_assert_int_eq(cw_wind_end(&wind[k], RUN_S, NULL), CW_OK);
    }
    for (int k = 0; k < 4; k++) closed(&wind[k]);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("simulate_wind");
    TCase *cases = tcase_create("simulate_wind");
    tcase_add_test(cases, own_part_is_of_a_run);
    tcase_add_test(cases, wander_goes_on_in_clock_time);
    tcase_add_test(cases, parts_add_up);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
