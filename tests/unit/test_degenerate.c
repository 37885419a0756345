/* What nobody should ask, asked of every function of the rooms that calculate, with GSL's default
 * error handler in place, which ends the program: statuses come back, and no number is made up
 * where an input is none. What right answers are is for the rooms' own tests. */
#include <check.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "compare/elsewhere.h"
#include "compare/run_model.h"
#include "dense.h"
#include "fit/joint.h"
#include "fit/prepare.h"
#include "fit/reml.h"
#include "fit/slant.h"
#include "fit/smooth.h"
#include "made.h"
#include "physics/air.h"
#include "physics/descent.h"
#include "physics/gravity.h"
#include "physics/stopping.h"
#include "stats/components.h"
#include "stats/power.h"
#include "stats/robust.h"
#include "stats/simplex.h"
#include "stats/symmetric.h"
#include "stats/tests.h"

static const double nasty[] = {0,    -0.0,    1,        -1,      0.5,       1e-320,   1e-300, 1e-9,
                               1e17, -1e-300, -DBL_MAX, DBL_MAX, -INFINITY, INFINITY, NAN};
enum { NASTY = sizeof nasty / sizeof *nasty };

/* Odometer over the nasty numbers: false when all combinations have been. */
static bool next(size_t n, size_t digit[], double value[]) {
    for (size_t i = 0; i < n; i++) {
        digit[i] = (digit[i] + 1) % NASTY;
        value[i] = nasty[digit[i]];
        if (digit[i]) return true;
    }
    return false;
}

static bool has_nan(size_t n, const double value[]) {
    for (size_t i = 0; i < n; i++)
        if (isnan(value[i])) return true;
    return false;
}

START_TEST(distributions) {
    size_t digit[3] = {0};
    double v[3] = {0};
    do {
        double t = cw_t_quantile(v[0], v[1]), p = cw_t_p_value(v[0], v[1]);
        double df = cw_satterthwaite_df(1, &v[0], &v[1]), probability, power;
        if (has_nan(2, v)) ck_assert(isnan(t) && isnan(p));
        if (has_nan(2, v)) ck_assert(isnan(df));
        enum cw_status status = cw_noncentral_t_above(v[0], v[1], v[2], &probability, NULL);
        if (has_nan(3, v)) ck_assert_int_lt(status, 0);
        ck_assert(status < 0 ? isnan(probability) : probability >= 0 && probability <= 1);
        status = cw_power_of(v[0], v[1], v[2], &power, NULL);
        if (has_nan(3, v)) ck_assert_int_lt(status, 0);
        ck_assert(status < 0 ? isnan(power) : power >= 0 && power <= 1);
    } while (next(3, digit, v));
}
END_TEST

START_TEST(plans) {
    size_t digit[4] = {0};
    double v[4] = {0}, found;
    do {
        if (cw_power_noncentrality(v[0], v[1], v[2], &found, NULL) < 0) ck_assert(isnan(found));
        if (cw_power_at(CW_POWER_PAIRS, v[0], v[1], v[2], v[3], &found, NULL) < 0)
            ck_assert(isnan(found));
    } while (next(4, digit, v));
    memset(digit, 0, sizeof digit);
    memset(v, 0, sizeof v);
    do {
        if (cw_power_runs(CW_POWER_TWO_GROUPS, v[0], v[1], 0.05, 0.8, &found, NULL) < 0)
            ck_assert(isnan(found));
        if (cw_power_smallest_difference(CW_POWER_PAIRS, v[0], v[1], 0.05, 0.8, &found, NULL) < 0)
            ck_assert(isnan(found));
        if (cw_power_runs(CW_POWER_PAIRS, 1, 1, v[0], v[1], &found, NULL) < 0)
            ck_assert(isnan(found));
    } while (next(2, digit, v));
}
END_TEST

START_TEST(samples_of_values) {
    size_t digit[4] = {0};
    double v[4] = {0}, adjusted[4];
    do {
        struct cw_t_test test;
        for (size_t n = 0; n < 5; n += 2) {
            if (cw_t_test_welch(n / 2, v, n - n / 2, v + 2, &test, NULL) < 0)
                ck_assert(isnan(test.t));
            if (cw_t_test_pooled(n / 2, v, n - n / 2, v + 2, &test, NULL) < 0)
                ck_assert(isnan(test.t));
            if (cw_t_test_paired(n / 2, v, v + 2, &test, NULL) < 0) ck_assert(isnan(test.t));
        }
        cw_holm_adjust(4, v, adjusted);
        cw_holm_adjust(0, v, adjusted);
    } while (next(4, digit, v));
    ck_assert(isnan(cw_median(v, 0)) && isnan(cw_quantile(v, 0, 0.3)));
}
END_TEST

static double bump(const double *x, const void *state) {
    const double *v = state;
    return v[0] + v[1] * x[0] * x[0] + v[2] * x[1];
}

START_TEST(matrices) {
    size_t digit[3] = {0};
    double v[3] = {0};
    do {
        double a[4] = {v[0], v[1], v[1], v[2]}, b[4], value[2], axes[4];
        memcpy(b, a, sizeof b);
        if (cw_cholesky_inverse(2, b)) ck_assert(v[0] > 0 && v[2] > 0 && !has_nan(3, v));
        memcpy(b, a, sizeof b);
        if (has_nan(3, v)) ck_assert_int_lt(cw_symmetric_axes(2, b, value, axes, NULL), 0);
        memcpy(b, a, sizeof b);
        cw_symmetric_axes(2, b, value, axes, NULL);
        double at[2] = {1, 2};
        cw_simplex_minimise(bump, v, 2, at, 1, 1e-3, 60);
    } while (next(3, digit, v));
}
END_TEST

START_TEST(scatters) {
    const double identity[9] = {1, 0, 0, 0, 1, 0, 0, 0, 1}, flat[3] = {1, 1, 1};
    size_t digit[2] = {0};
    double v[2] = {0};
    do {
        const double design[6] = {1, v[0], 1, v[1], 1, 3}, y[3] = {v[0], 1, 2};
        const double scatter[9] = {v[0], v[1], 0, v[1], 2, 0, 0, 0, 1};
        const struct cw_component made[] = {
            {scatter, CW_COMPONENT_STATED, v[0], 0}, {identity, CW_COMPONENT_SCATTER, v[1], 0},
            {NULL, CW_COMPONENT_FACTOR, v[0], v[1]}, {NULL, CW_COMPONENT_GUESSED, v[1], v[0]},
            {scatter, CW_COMPONENT_SCATTER, 0.1, 0}, {identity, CW_COMPONENT_SCATTER, 0.1, 0}};
        enum { MADE = sizeof made / sizeof *made };
        struct cw_components_data data[MADE + 2];
        for (size_t k = 0; k < MADE; k++)
            data[k] = (struct cw_components_data){.n = 3,
                                                  .p = 1,
                                                  .value = y,
                                                  .design = flat,
                                                  .fixed = identity,
                                                  .n_components = 1,
                                                  .component = {made[k]}};
        data[MADE - 2].fixed = NULL;
        data[MADE - 1].n = 1;
        data[MADE] = (struct cw_components_data){
            .n = 3, .p = 2, .value = y, .design = design, .fixed = scatter};
        data[MADE + 1] = (struct cw_components_data){.value = y, .design = flat, .fixed = identity};
        for (size_t i = 0; i < sizeof data / sizeof *data; i++) {
            struct cw_components fit;
            struct cw_estimate estimate = cw_estimate_make(1, 1, 2);
            double df, p_value;
            if (cw_components_fit(&data[i], &fit, NULL) == CW_OK && data[i].p) {
                cw_components_contrast(&fit, v, &estimate, &df, &p_value, NULL);
                if (data[i].n_components) cw_components_widen(&fit, 0, v[1], &estimate, NULL);
            }
            cw_components_free(&fit);
        }
    } while (next(2, digit, v));
}
END_TEST

static double given_slope(double s_m, const void *state) {
    (void)s_m;
    return *(const double *)state;
}

static double given_gust(double time_s, const void *state) {
    (void)time_s;
    return *(const double *)state;
}

START_TEST(physics) {
    size_t digit[5] = {0};
    double v[5] = {0};
    do {
        double density = cw_air_density(v[0], v[1], v[2]), stop = cw_stopping_distance(v[0], v[1]);
        double gravity = cw_gravity(v[0], v[1]);
        double scale = cw_barometric_scale(v[0], v[1], v[2]);
        if (has_nan(2, v)) ck_assert(isnan(density) && isnan(gravity) && isnan(scale));
        if (has_nan(2, v)) ck_assert(isnan(stop));
        const struct cw_bicycle bicycle = {v[0], v[1], v[2], v[1], v[2], false};
        const struct cw_air_column column = cw_air_column_make(v[0], v[1], v[2], v[0], v[2], v[1]);
        double pressure = cw_air_column_pressure(&column, v[0]),
               part = cw_air_column_density(&column, v[1]);
        if (has_nan(2, v)) ck_assert(isnan(pressure) && isnan(part));
        const struct cw_surroundings air = {
            .density_kgm3 = v[2], .gravity_ms2 = v[1], .wind_along_ms = v[0]};
        struct cw_loss loss = cw_coast_loss(&bicycle, &air, v[1], v[2]);
        if (has_nan(2, v)) ck_assert(isnan(cw_loss_sum(&loss, v[0], v[1])));
        if (has_nan(2, v)) ck_assert(isnan(cw_coast_acceleration(&bicycle, &air, v[1], 0)));
    } while (next(3, digit, v));
}
END_TEST

/* Each number of a descent in turn is a nasty one. */
START_TEST(descents) {
    for (int which = 0; which < 15; which++)
        for (size_t k = 0; k < NASTY; k++) {
            double v = nasty[k], slope = -0.05, gust = 0.2;
            struct cw_bicycle bicycle = {80, 0.3, 0.005, 0.14, 0.33, false};
            struct cw_surroundings air = {
                .density_kgm3 = 1.2, .gravity_ms2 = 9.8, .wind_along_ms = 0.1};
            struct cw_descent_options options = cw_descent_options_default();
            struct cw_descent_road road = {NULL, given_slope, &slope, 300};
            double *all[] = {&bicycle.mass_kg,
                             &bicycle.cda_m2,
                             &bicycle.crr,
                             &bicycle.wheel_inertia_kgm2,
                             &bicycle.wheel_radius_m,
                             &air.density_kgm3,
                             &air.gravity_ms2,
                             &air.wind_along_ms,
                             &options.start_speed_ms,
                             &options.step_s,
                             &options.relative_error,
                             &options.time_limit_s,
                             &road.length_m,
                             &slope,
                             &gust};
            *all[which] = v;
            options.gust = given_gust;
            options.gust_state = &gust;
            struct cw_descent descent;
            enum cw_status status = cw_descent_run(&bicycle, &air, &road, &options, &descent, NULL);
            if (isnan(v) && which != 8 && which != 9 && which != 10) {
                /* from a stand, what has no acceleration does not roll */
                ck_assert(status < 0 || (descent.stopped && descent.n == 1));
            }
            if (status >= 0) ck_assert(isfinite(descent.end_s_m) && isfinite(descent.end_time_s));
            cw_descent_free(&descent);
        }
}
END_TEST

static enum cw_status nasty_likelihood(const double *x, void *state, double *minus_2_log,
                                       double *by) {
    (void)by;
    const double *v = state;
    *minus_2_log = v[0] + v[1] * x[0] * x[0] + v[2] * x[1];
    return CW_OK;
}

START_TEST(parts_of_the_fit) {
    size_t digit[3] = {0};
    double v[3] = {0};
    struct cw_error error;
    do {
        struct cw_profile profile;
        const double s[4] = {0, v[0], 100, v[1]}, h[4] = {v[2], 1, v[1], 3};
        if (cw_profile_make(v[0], v[1], v[2], &profile, &error) >= 0) cw_profile_free(&profile);
        ck_assert_int_eq(cw_profile_make(-20, 120, 15, &profile, &error), CW_OK);
        cw_profile_fit(&profile, s, h, 4, v[0], v[1], &error);
        cw_profile_fit(&profile, s, h, 4, 0.3, 0.1, &error);
        cw_profile_height(&profile, v[0]);
        cw_profile_slope(&profile, v[0]);
        cw_profile_free(&profile);
        struct cw_slant slant;
        if (cw_slant_make(s, h, 4, &slant, &error) >= 0) {
            cw_slant_along(&slant, v[2]);
            cw_slant_rate(&slant, v[2]);
        }
        cw_slant_free(&slant);

        struct cw_information information;
        double value[2], covariance[4];
        ck_assert_int_eq(cw_information_alloc(1, 1, &information, &error), CW_OK);
        const double matrix[4] = {v[0], v[1], v[1], v[2]};
        memcpy(information.matrix, matrix, sizeof matrix);
        information.vector[0] = v[0];
        information.vector[1] = v[1];
        enum cw_status status = cw_information_solve(&information, value, covariance, &error);
        if (has_nan(3, v)) ck_assert_int_lt(status, 0);
        cw_information_loosen(&information, v, v[2], &error);
        cw_information_free(&information);

        static struct cw_reml reml;
        const struct cw_reml_prior prior[2] = {{0, 0.5, -3, 3, 0}, {0, 1.5, -3, 3, 0}};
        reml = (struct cw_reml){0};
        status = cw_reml_minimise(nasty_likelihood, v, 2, prior, 0.01, 1, &reml, &error);
        if (has_nan(1, v)) ck_assert_int_lt(status, 0);

        const double t[3] = {0, v[0], 2}, speed[3] = {v[1], 5, 5}, place[3] = {0, 5, v[2]},
                     none[3] = {NAN, NAN, NAN};
        struct cw_run_data data;
        if (cw_run_data_make(3, t, speed, place, none, none, h, &data, &error) >= 0)
            cw_run_data_free(&data);
        struct cw_place where = {.height_m = 500,
                                 .temperature_c = v[0],
                                 .pressure_pa = v[1],
                                 .humidity = v[2],
                                 .gravity_ms2 = 9.81};
        cw_place_settle(&where, CW_ELEVATION_BAROMETRIC);
    } while (next(3, digit, v));
}
END_TEST

/* One run's equations with each thing they are made of in turn a nasty number. */
START_TEST(equations_of_runs) {
    const struct cw_joint_priors priors = {
        .offset_sd_m = 5, .shift_sd_m = 10, .scale_sd = 0.01, .cda_m2 = {0.35, 0.2}};
    for (int which = 0; which < 14; which++)
        for (size_t k = 0; k < NASTY; k++) {
            struct cw_profile profile;
            struct cw_error error;
            struct cw_joint joint;
            struct cw_run_data *data = calloc(2, sizeof *data);
            struct cw_noise noise = {.gust_sd_ms = 0.2,
                                     .gust_time_s = 20,
                                     .drift_sd_m = 0.3,
                                     .drift_time_s = 150,
                                     .elevation_sd_m = 0.1,
                                     .speed_sd_ms = 0.1,
                                     .wander_sd_m = 1.5,
                                     .wander_time_s = 60,
                                     .jitter_sd_m = 0.4,
                                     .jitter_time_s = 3,
                                     .creep_sd_ms = 0.06,
                                     .creep_time_s = 4,
                                     .position_sd_m = 0.3,
                                     .roughness_m = 0.05};
            made_profile(400, &profile);
            for (int i = 0; i < 2; i++)
                made_run(&(struct made_run){true, true, true, 25, 3, 3.5, 41 + (unsigned)i},
                         &profile, &data[i]);
            cw_profile_free(&profile);
            double *all[] = {&noise.gust_sd_ms,
                             &noise.gust_time_s,
                             &noise.drift_sd_m,
                             &noise.elevation_sd_m,
                             &noise.speed_sd_ms,
                             &noise.wander_sd_m,
                             &noise.roughness_m,
                             &data[0].bicycle.mass_kg,
                             &data[0].surroundings.density_kgm3,
                             &data[0].surroundings.gravity_ms2,
                             &data[0].surroundings.wind_along_ms,
                             &data[0].height_seen_m[3],
                             &data[0].speed_seen_ms[4],
                             &data[0].position_seen_m[5]};
            *all[which] = nasty[k];
            const struct cw_crr_prior crr = {{0.005, 0.01}, false};
            enum cw_status status =
                cw_joint_make(data, 2, 1, 1, 1, &priors, &crr, 15, &joint, &error);
            if (status < 0) continue;
            cw_joint_linearise(&joint);
            struct cw_information information;
            double minus_2_log, change, value[3], gust[200];
            ck_assert_int_eq(cw_information_alloc(1, 2, &information, &error), CW_OK);
            status = cw_joint_evaluate(&joint, NULL, 2, &noise, &minus_2_log, &information, NULL,
                                       &error);
            if (status >= 0) cw_information_solve(&information, value, NULL, &error);
            if (status >= 0) ck_assert(isfinite(minus_2_log));
            cw_smooth_motion(&joint.linear[0], &noise, 5, 10, &joint.data[0],
                             joint.data[0].n <= 200 ? gust : NULL, &error);
            cw_joint_linearise(&joint);
            cw_joint_advance(&joint, &noise, &change, &error);
            const double lag_s[1] = {nasty[k]};
            cw_joint_set_lags(&joint, lag_s);
            cw_information_free(&information);
            cw_joint_free(&joint);
        }
}
END_TEST

/* Whole outings with something impossible in them, all the way to the comparison. */
static void spoil(int how, struct cw_analysed *of) {
    struct cw_outing *outing = &of->outing;
    struct cw_samples *samples = &of->recordings[0].samples;
    switch (how) {
    case 0:
        outing->rider.mass_kg = 0;
        outing->rider.bike_mass_kg = 0;
        break;
    case 1:
        outing->rider.mass_kg = 1e300;
        break;
    case 2:
        outing->rider.mass_kg = NAN;
        break;
    case 3:
        outing->air.temperature_c = -273.15;
        break;
    case 4:
        outing->air.pressure_hpa = 0;
        break;
    case 5:
        outing->wind_along_ms = 1e200;
        break;
    case 6:
        outing->wind_uncertainty_ms = INFINITY;
        break;
    case 7:
        outing->rider.wheel_radius_m = 0;
        break;
    case 8:
        outing->crr = outing->crr_uncertainty = INFINITY;
        break;
    case 9:
        outing->crr = 0.005;
        outing->crr_uncertainty = 0;
        break;
    default:
        for (size_t i = 0; i < samples->n; i++) {
            if (how == 10) samples->elevation_m[i] = 100;
            if (how == 11) samples->elevation_m[i] *= 1e150;
            if (how == 12) samples->speed_ms[i] = 8;
            if (how == 13) samples->elevation_m[i] = i % 2 ? -1e5 : 1e5;
            if (how == 14) samples->speed_ms[i] *= 1e-9;
            if (how == 15) samples->elevation_m[i] = NAN;
            if (how == 16) samples->latitude_deg[i] = samples->longitude_deg[i] = 7;
            if (how == 17) samples->time_s[i] = 1.7e9 + (double)i * 1e-9;
        }
    }
}

START_TEST(outings) {
    for (int how = 0; how < 18; how++)
        for (int when = 0; when < 2; when++) { /* before runs are found, or after */
            struct cw_simulate_options options = cw_simulate_options_default();
            options.n_order = 4;
            struct made made;
            struct cw_error error;
            ck_assert_int_eq(made_begin(&made, &options, &error), CW_OK);
            if (!when) spoil(how, made.of);
            enum cw_status status = made_find(&made, NULL, &error);
            if (when) spoil(how, made.of);
            if (status >= 0) status = cw_analysis_fit(&made.analysis, &error);
            if (status >= 0) status = cw_analysis_compare(&made.analysis, NULL, &error);
            made_free(&made);
        }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("degenerate");
    TCase *tests = tcase_create("degenerate");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, distributions);
    tcase_add_test(tests, plans);
    tcase_add_test(tests, samples_of_values);
    tcase_add_test(tests, matrices);
    tcase_add_test(tests, scatters);
    tcase_add_test(tests, physics);
    tcase_add_test(tests, descents);
    tcase_add_test(tests, parts_of_the_fit);
    tcase_add_test(tests, equations_of_runs);
    tcase_add_test(tests, outings);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
