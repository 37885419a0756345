/* The factors of the linearised balance against numerical derivatives of the forces, and the
 * balance itself against a descent integrated by physics/descent. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "dense.h"
#include "fit/linear.h"
#include "fit/markov.h"
#include "physics/descent.h"
#include "physics/forces.h"

static const double cda_m2 = 0.31, crr = 0.0045, bends = 0.05;

/* Metres of height lost a second at a height, from the forces. */
static double loss_rate(const struct cw_run_data *data, double height_m, double cosine,
                        double curve_1m, double v, double gust) {
    double weight = data->bicycle.mass_kg * data->surroundings.gravity_ms2;
    double air = v + data->surroundings.wind_along_ms + gust;
    const struct cw_air_column *column = &data->surroundings.column;
    double density = data->surroundings.density_kgm3 *
                     pow(1 - column->cooling_1m * (height_m - column->height_m), column->power - 1);
    double force =
        crr * weight * cosine + 0.5 * density * cda_m2 * air * fabs(air) + 0.091 + 0.0087 * v;
    double aside = v * v * curve_1m / data->surroundings.gravity_ms2;
    return v * (force / weight + bends * aside * aside);
}

START_TEST(factors_are_derivatives) {
    struct cw_profile profile;
    struct cw_run_data data;
    struct cw_linear linear;
    struct cw_error error;
    made_profile(700, &profile);
    made_run(&(struct made_run){true, true, true, 40, 3, 3.5, 41}, &profile, &data);
    ck_assert_int_eq(cw_linear_alloc(&data, &linear, &error), CW_OK);
    const struct cw_basis basis = {&profile, cda_m2, crr, 0, 0.01, bends, 0, 0};
    cw_linear_set(&linear, &basis);
    ck_assert_double_eq(linear.scale, 0.01);
    const double d = 1e-4;
    double lost_m = 0;
    const double inertia = cw_inertia_factor(&data.bicycle), g = data.surroundings.gravity_ms2;
    for (size_t i = 0; i < data.n; i++) {
        double v = data.speed_ms[i], sine = cw_profile_slope(&profile, data.s_m[i]);
        double cosine = sqrt(1 - sine * sine);
        ck_assert_double_eq_tol(linear.slope[i], sine, 1e-12);
        double c = data.curve_1m[i], high = cw_profile_height(&profile, data.s_m[i]);
        ck_assert_double_eq_tol(linear.loss_by_speed[i],
                                (loss_rate(&data, high, cosine, c, v + d, 0) -
                                 loss_rate(&data, high, cosine, c, v - d, 0)) /
                                    (2 * d),
                                1e-8);
        ck_assert_double_eq_tol(
            linear.loss_by_wind[i],
            (loss_rate(&data, high, cosine, c, v, d) - loss_rate(&data, high, cosine, c, v, -d)) /
                (2 * d),
            1e-8);
        /* what bends cost, along the coast that is expected */
        if (i)
            lost_m +=
                0.5 * (data.s_m[i] - data.s_m[i - 1]) *
                (pow(linear.expected_ms[i], 4) * c * c +
                 pow(linear.expected_ms[i - 1], 4) * data.curve_1m[i - 1] * data.curve_1m[i - 1]) /
                (g * g);
        ck_assert_double_eq_tol(linear.bend_m[i], lost_m, 1e-10);
        /* a metre of energy more is so much speed more: K = k v2/2g */
        double kinetic = inertia * v * v / (2 * g);
        double up = sqrt(2 * g * (kinetic + d) / inertia);
        double down = sqrt(2 * g * (kinetic - d) / inertia);
        ck_assert_double_eq_tol(linear.gain[i], (up - down) / (2 * d), 1e-5);
        double height = 0;
        for (size_t k = 0; k < 4; k++)
            height += linear.node[i].weight[k] * profile.coefficient_m[linear.node[i].first + k];
        ck_assert_double_eq_tol(height, high, 1e-9);
    }
    /* what they cost at any speed is taken for granted, as at 36 km/h */
    double *without = malloc(data.n * sizeof *without);
    memcpy(without, linear.residual, data.n * sizeof *without);
    const struct cw_basis any = {&profile, cda_m2, crr, 0, 0.01, bends, 0.02, 0};
    cw_linear_set(&linear, &any);
    lost_m = 0;
    for (size_t i = 1; i < data.n; i++) {
        lost_m += 0.5 * (data.s_m[i] - data.s_m[i - 1]) * 0.02 *
                  (pow(100 * data.curve_1m[i] / g, 2) + pow(100 * data.curve_1m[i - 1] / g, 2));
        ck_assert_double_eq_tol(linear.residual[i] - without[i], lost_m, 1e-10);
    }
    ck_assert_double_gt(lost_m, 1e-3);
    free(without);
    cw_linear_free(&linear);
    cw_run_data_free(&data);
    cw_profile_free(&profile);
}
END_TEST

/* A ride that began to roll 2 s before its first sample, evenly faster. */
static double place_after(double since_s) {
    double since = fmax(0, since_s);
    return 20 + 0.4 * since * since;
}

/* What is shown goes after what is felt by shown' = (felt - shown)/lag, summed in small steps from
 * where the rider stood before; a lag below 0 looks ahead and filters nothing. */
START_TEST(shown_follows_felt) {
    enum { N = 30 };
    double t[N], v[N], s[N], none[N];
    struct cw_profile profile;
    struct cw_run_data data;
    struct cw_linear linear;
    struct cw_error error;
    made_profile(400, &profile);
    for (size_t i = 0; i < N; i++) { /* even acceleration from a standstill 2 s before */
        t[i] = (double)i;
        v[i] = 0.8 * (t[i] + 2);
        s[i] = 20 + 0.4 * (t[i] + 2) * (t[i] + 2);
        none[i] = NAN;
    }
    ck_assert_int_eq(cw_run_data_make(N, t, v, s, none, none, none, &data, &error), CW_OK);
    data.bicycle = (struct cw_bicycle){.mass_kg = 80};
    data.surroundings = (struct cw_surroundings){.density_kgm3 = 1.2, .gravity_ms2 = 9.81};
    for (size_t k = 0; k < CW_BEFORE; k++) data.before_m[k] = s[0] - place_after(1 - (double)k);
    ck_assert_int_eq(cw_linear_alloc(&data, &linear, &error), CW_OK);
    const struct cw_basis basis = {&profile, cda_m2, crr, 0, 0, 0, 0, 0};
    cw_linear_set(&linear, &basis);
    const double lags_s[] = {0, 0.35, 1, 3.6, -0.5};
    for (size_t k = 0; k < 5; k++) {
        enum { PIECES = 2000 };
        double lag = lags_s[k], shown = cw_profile_height(&profile, 20);
        for (int piece = 0; lag > 0 && piece < 2 * PIECES; piece++)
            shown += (cw_profile_height(&profile, place_after((piece + 0.5) / PIECES)) - shown) *
                     -expm1(-1 / (PIECES * lag));
        cw_linear_set_lag(&linear, &profile, lag);
        for (size_t i = 0; i < N; i++) {
            double place = place_after(t[i] + 2 + fmax(0, -lag));
            double felt = cw_profile_height(&profile, place);
            for (int piece = 0; i > 0 && lag > 0 && piece < PIECES; piece++) {
                double since = t[i] + 1 + (piece + 0.5) / PIECES;
                shown += (cw_profile_height(&profile, place_after(since)) - shown) *
                         -expm1(-1 / (PIECES * lag));
            }
            ck_assert_double_eq_tol(linear.felt_height_m[i], felt, 1e-9);
            ck_assert_double_eq_tol(linear.felt_slope[i], cw_profile_slope(&profile, place), 1e-10);
            /* by the trapezoid: the road bends by 1.5 m / (47 m)^2, 24 m/s at most */
            ck_assert_double_eq_tol(linear.shown_height_m[i], lag > 0 ? shown : felt,
                                    lag > 0 ? 24 * 24 * 1.5 / 47 / 47 / 12 : 1e-9);
        }
    }
    cw_linear_free(&linear);
    cw_run_data_free(&data);
    cw_profile_free(&profile);
}
END_TEST

static double slope_of(double s_m, const void *state) {
    return cw_profile_slope(state, s_m);
}

/* A descent's own motion spends its balance to nothing but the trapezoid's error, which falls with
 * the square of the step. */
START_TEST(true_motion_balances) {
    struct cw_profile profile;
    struct cw_error error;
    made_profile(600, &profile);
    double before = 0;
    for (double step = 1; step > 0.2; step /= 2) {
        const struct cw_bicycle bicycle = {.mass_kg = 84,
                                           .cda_m2 = cda_m2,
                                           .crr = crr,
                                           .wheel_inertia_kgm2 = 0.14,
                                           .wheel_radius_m = 0.334};
        const struct cw_surroundings air = {
            .density_kgm3 = 1.18, .gravity_ms2 = 9.8, .wind_along_ms = 0.7};
        const struct cw_descent_road road = {NULL, slope_of, &profile, 600};
        struct cw_descent_options options = cw_descent_options_default();
        struct cw_descent descent;
        struct cw_run_data data;
        struct cw_linear linear;
        options.start_speed_ms = 4;
        options.step_s = step;
        ck_assert_int_eq(cw_descent_run(&bicycle, &air, &road, &options, &descent, &error), CW_OK);
        double *none = malloc(descent.n * sizeof *none);
        for (size_t i = 0; i < descent.n; i++) none[i] = NAN;
        ck_assert_int_eq(cw_run_data_make(descent.n, descent.time_s, descent.speed_ms, descent.s_m,
                                          none, none, none, &data, &error),
                         CW_OK);
        data.bicycle = bicycle;
        data.surroundings = air;
        ck_assert_int_eq(cw_linear_alloc(&data, &linear, &error), CW_OK);
        const struct cw_basis basis = {&profile, cda_m2, crr, 0, 0, 0, 0, 0};
        cw_linear_set(&linear, &basis);
        double worst = 0;
        for (size_t i = 0; i < data.n; i++)
            worst = fmax(worst, fabs(linear.residual[i] - linear.residual[0]));
        ck_assert_double_lt(worst, 0.006 * step * step); /* of a drop of 33 m */
        if (step < 1) ck_assert_double_lt(worst, 0.35 * before);
        before = worst;
        free(none);
        cw_linear_free(&linear);
        cw_run_data_free(&data);
        cw_descent_free(&descent);
    }
    cw_profile_free(&profile);
}
END_TEST

static double even_slope(double s_m, const void *state) {
    (void)s_m;
    return *(const double *)state;
}

/* A headwind of *state for the first 5 s. */
static double short_gust(double time_s, const void *state) {
    return time_s < 5 ? *(const double *)state : 0;
}

/* The example in fit/linear.h: what it prints is so, to half of the last digit printed; and the
 * gust does what two coasts, one with it and one without, say it does. */
START_TEST(example_in_the_header) {
    enum { N = 16 };
    static const double slope = -0.05, gusts_ms[2] = {1, 0.1};
    const struct cw_bicycle bicycle = {.mass_kg = 80, .cda_m2 = 0.3, .crr = 0.005};
    const struct cw_surroundings air = {.density_kgm3 = 1.2, .gravity_ms2 = 9.81};
    const struct cw_descent_road road = {NULL, even_slope, &slope, 1000};
    const struct cw_noise lasting = {.gust_time_s = 1e9, .drift_time_s = 1, .wander_time_s = 1};
    struct cw_descent_options options = cw_descent_options_default();
    struct cw_descent calm;
    struct cw_profile profile;
    struct cw_run_data data;
    struct cw_linear linear;
    struct cw_error error;
    double none[N];
    options.start_speed_ms = 10;
    ck_assert_int_eq(cw_descent_run(&bicycle, &air, &road, &options, &calm, &error), CW_OK);
    ck_assert_int_eq(cw_profile_make(-60, 1060, 15, &profile, &error), CW_OK);
    for (size_t i = 0; i < profile.n; i++)
        profile.coefficient_m[i] = 500 + slope * (double)i * profile.spacing_m;
    for (size_t i = 0; i < N; i++) none[i] = NAN;
    ck_assert_int_eq(
        cw_run_data_make(N, calm.time_s, calm.speed_ms, calm.s_m, none, none, none, &data, &error),
        CW_OK);
    data.bicycle = bicycle;
    data.surroundings = air;
    const struct cw_loss loss = cw_coast_loss(&bicycle, &air, 10, 1);
    ck_assert_int_eq(cw_linear_alloc(&data, &linear, &error), CW_OK);
    const struct cw_basis about = {&profile, 0.3, 0.005, 0, 0, 0, 0, 0};
    cw_linear_set(&linear, &about);
    ck_assert_double_eq_tol(10 * 0.005 * sqrt(1 - slope * slope), 0.050, 0.0005);
    ck_assert_double_eq_tol(10 * 0.3 * loss.drag, 0.229, 0.0005);
    ck_assert_double_eq_tol(10 * loss.bearing, 0.002, 0.0005);
    ck_assert_double_eq_tol(linear.gain[0], 0.981, 0.0005);
    ck_assert_double_eq_tol(linear.loss_by_speed[0], 0.074, 0.0005);
    ck_assert_double_eq_tol(linear.loss_by_wind[0], 0.046, 0.0005);

    for (int g = 0; g < 2; g++) {
        struct cw_descent windy;
        options.gust = short_gust;
        options.gust_state = &gusts_ms[g];
        options.gust_knot_s = 5;
        ck_assert_int_eq(cw_descent_run(&bicycle, &air, &road, &options, &windy, &error), CW_OK);
        double shift = 0, energy = 0;
        struct cw_markov_paces paces;
        cw_markov_paces_begin(&paces, &lasting, linear.lag_s);
        for (size_t i = 0; i < N; i++) {
            if (i == 5 || i == N - 1) {
                double dv = linear.gain[i] * (energy - linear.slope[i] * shift);
                double true_shift = windy.s_m[i] - calm.s_m[i];
                double true_dv = windy.speed_ms[i] - calm.speed_ms[i];
                if (g == 0) {
                    ck_assert_double_eq_tol(energy, i == 5 ? -0.208 : -0.046, 0.0005);
                    ck_assert_double_eq_tol(shift, i == 5 ? -0.54 : -2.18, 0.005);
                    ck_assert_double_eq_tol(dv, i == 5 ? -0.210 : -0.124, 0.0005);
                    ck_assert_double_eq_tol(true_shift, i == 5 ? -0.56 : -2.27, 0.005);
                    ck_assert_double_eq_tol(true_dv, i == 5 ? -0.218 : -0.129, 0.0005);
                }
                double more = g == 0 ? 0.04 : 0.005;
                ck_assert_double_eq_tol(true_shift / shift - 1, more, 0.1 * more + 0.0005);
                ck_assert_double_eq_tol(true_dv / dv - 1, more, 0.1 * more + 0.0005);
            }
            if (i + 1 == N) break;
            struct cw_markov_step step;
            cw_markov_step_make(&linear, i, &paces, &step);
            const double gust = i < 5 ? gusts_ms[g] : 0;
            const double *to_shift = step.transition[CW_STATE_SHIFT],
                         *to_energy = step.transition[CW_STATE_ENERGY];
            double before = shift;
            shift = to_shift[CW_STATE_SHIFT] * before + to_shift[CW_STATE_ENERGY] * energy +
                    to_shift[CW_STATE_GUST] * gust;
            energy = to_energy[CW_STATE_SHIFT] * before + to_energy[CW_STATE_ENERGY] * energy +
                     to_energy[CW_STATE_GUST] * gust;
        }
        cw_descent_free(&windy);
    }
    cw_linear_free(&linear);
    cw_run_data_free(&data);
    cw_profile_free(&profile);
    cw_descent_free(&calm);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("fit/linear");
    TCase *tests = tcase_create("linear");
    tcase_add_test(tests, factors_are_derivatives);
    tcase_add_test(tests, shown_follows_felt);
    tcase_add_test(tests, true_motion_balances);
    tcase_add_test(tests, example_in_the_header);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
