/* Each part of a made-up outing does what it says: brake, bends, days, holes, jumps, maps, points
 * far apart, the device's own speed, both ways. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "motion/metric.h"
#include "physics/air.h"
#include "physics/forces.h"
#include "simulate/resistance.h"
#include "simulate/settings.h"
#include "simulate/simulate.h"

/* No noise at all, and so many runs down a short steep road; then the settings. */
static struct cw_simulate_options quiet(size_t runs, const char *settings) {
    struct cw_simulate_options options = cw_simulate_options_default();
    struct cw_error error = {0};
    enum cw_status status =
        cw_simulate_set_all(&options,
                            "elevation=surveyed gust-sd-ms=0 position-sd-m=0 "
                            "position-drift-sd-m=0 speed-sd-ms=0 road=300:-8 top-wait-s=5 "
                            "bottom-wait-s=5 climb-speed-ms=10",
                            &error);
    options.n_order = runs;
    for (size_t i = 0; i < runs; i++) options.order[i] = 0;
    if (!status) status = cw_simulate_set_all(&options, settings, &error);
    ck_assert_msg(!status, "%s", error.message);
    return options;
}

static struct cw_simulated make(const struct cw_simulate_options *options) {
    struct cw_simulated simulated;
    struct cw_error error = {0};
    enum cw_status status = cw_simulate(options, &simulated, &error);
    ck_assert_msg(status == CW_OK, "%s", error.message);
    return simulated;
}

/* As thin as it is there by ISO 2533's lapse and the hydrostatic equation. */
static double density_at(const struct cw_simulate_options *options,
                         const struct cw_simulated *simulated, const struct cw_simulated_run *run,
                         double height_m) {
    double kelvin = run->temperature_c + 273.15,
           gas = run->pressure_hpa * 100 / (run->density_kgm3 * kelvin),
           up_m = height_m - (options->height_m - simulated->drop_m / 2);
    return run->density_kgm3 *
           pow(1 - 0.0065 * up_m / kelvin, simulated->gravity_ms2 / (gas * 0.0065) - 1);
}

/* Joules that a run lost besides rolling, drag and bearings (Martin et al. 1998, eq. 3 to 10), by
 * the trapezoidal rule over its states. */
static double lost_j(const struct cw_simulate_options *options,
                     const struct cw_simulated *simulated, size_t r) {
    const struct cw_simulated_run *run = &simulated->runs[r];
    const struct cw_descent *descent = &run->descent;
    struct cw_bicycle bicycle = {.mass_kg = run->mass_kg,
                                 .wheel_inertia_kgm2 = options->wheel_inertia_kgm2,
                                 .wheel_radius_m = options->wheel_radius_m};
    double known_j = 0, before_w = NAN, g = simulated->gravity_ms2;
    for (size_t i = 0; i < descent->n; i++) {
        double v = descent->speed_ms[i];
        double slope = options->segments[0].slope_percent / 100; /* the same everywhere */
        double density = density_at(options, simulated, run, run->height_m[i]);
        double power_w = v * (run->crr * run->mass_kg * g / hypot(1, slope) +
                              0.5 * density * run->cda_m2 * v * v + 0.091 + 0.0087 * v);
        if (i)
            known_j += 0.5 * (power_w + before_w) * (descent->time_s[i] - descent->time_s[i - 1]);
        before_w = power_w;
    }
    size_t last = descent->n - 1;
    return run->mass_kg * g *
               (cw_kinetic_head(&bicycle, g, descent->speed_ms[0]) -
                cw_kinetic_head(&bicycle, g, descent->speed_ms[last]) + run->height_m[0] -
                run->height_m[last]) -
           known_j;
}

START_TEST(a_brush_takes_its_speed) {
    struct cw_brush brush = {.start_s = 3, .duration_s = 1.6, .mean_ms2 = 0.4};
    double sum_ms = 0;
    for (double t = 0; t < 10; t += 0.001) sum_ms += 0.001 * cw_brush_ms2(&brush, t);
    ck_assert_double_eq_tol(sum_ms, 0.64, 1e-6);
    ck_assert_double_eq(cw_brush_ms2(&brush, 2.9), 0);
    ck_assert_double_eq(cw_brush_ms2(&brush, 4.7), 0);
}
END_TEST

/* A third of the runs, each by m k b T v more than the others lose. */
START_TEST(brushes_are_in_their_share_of_runs) {
    struct cw_simulate_options options = quiet(300, "brush-share=0.3333");
    struct cw_simulated simulated = make(&options);
    size_t brushed = 0;
    for (size_t r = 0; r < simulated.n_runs; r++) {
        const struct cw_simulated_run *run = &simulated.runs[r];
        double lost = lost_j(&options, &simulated, r);
        if (run->brush_s <= 0) {
            ck_assert_double_eq_tol(lost, 0, 5);
            continue;
        }
        brushed++;
        ck_assert(run->brush_s >= 1 && run->brush_s <= 2);
        double from_s = run->brush_start_s - run->start_s;
        ck_assert(from_s > 0 && from_s + run->brush_s < run->descent.end_time_s);
        size_t middle = (size_t)((from_s + run->brush_s / 2) / 0.5 + 0.5);
        struct cw_bicycle bicycle = {.mass_kg = run->mass_kg,
                                     .wheel_inertia_kgm2 = options.wheel_inertia_kgm2,
                                     .wheel_radius_m = options.wheel_radius_m};
        double expected = run->mass_kg * cw_inertia_factor(&bicycle) * run->brush_ms2 *
                          run->brush_s * run->descent.speed_ms[middle];
        ck_assert_double_eq_tol(lost / expected, 1, 0.04);
    }
    ck_assert_double_eq_tol((double)brushed, 100, 4 * sqrt(300 * 2.0 / 9));
    cw_simulated_free(&simulated);
}
END_TEST

/* The rolling coefficient grows by curvature, so a run loses by the angle turned, whatever the
 * radius. */
START_TEST(bends_cost_by_the_angle_turned) {
    struct cw_simulate_options options =
        quiet(1, "road=300:-8:70,200:-8:-50 bend-crr=0.002 climb-speed-ms=10");
    struct cw_simulated simulated = make(&options);
    const struct cw_simulated_run *run = &simulated.runs[0];
    double expected = run->mass_kg * simulated.gravity_ms2 / hypot(1, 0.08) * 0.002 * 100 *
                      (120 * acos(-1) / 180);
    ck_assert_double_eq_tol(lost_j(&options, &simulated, 0) / expected, 1, 0.01);
    cw_simulated_free(&simulated);
}
END_TEST

START_TEST(days_have_air_of_their_own) {
    struct cw_simulate_options options =
        quiet(200, "recordings=0 between-recordings-s=86400 temperature-c=15 temperature-sd-c=6 "
                   "pressure-sd-hpa=5 device-temperature=yes device-warm-c=3 format=gpx");
    struct cw_simulated simulated = make(&options);
    ck_assert_uint_eq(simulated.n_recordings, 200);
    double sum = 0, sum2 = 0, pressure2 = 0;
    for (size_t r = 0; r < 200; r++) {
        const struct cw_simulated_run *run = &simulated.runs[r];
        const struct cw_samples *samples = &simulated.recordings[r].samples;
        ck_assert_uint_eq(run->recording, r);
        if (r) ck_assert_double_gt(run->start_s - simulated.runs[r - 1].end_s, 86400);
        ck_assert_double_eq(samples->temperature_c[0], rint(run->temperature_c + 3));
        ck_assert_double_eq_tol(run->density_kgm3,
                                cw_air_density(run->temperature_c, run->pressure_hpa * 100, 0.65),
                                1e-12);
        sum += run->temperature_c / 200;
        sum2 += (run->temperature_c - 15) * (run->temperature_c - 15) / 200;
        pressure2 += (run->pressure_hpa - 960) * (run->pressure_hpa - 960) / 200;
    }
    ck_assert_double_eq_tol(sum, 15, 6 * 4 / sqrt(200));
    ck_assert_double_eq_tol(sqrt(sum2), 6, 6 * 4 / sqrt(400));
    ck_assert_double_eq_tol(sqrt(pressure2), 5, 5 * 4 / sqrt(400));
    ck_assert_double_eq_tol(simulated.outing.air.temperature_uncertainty_c, hypot(1, 6), 1e-12);
    cw_simulated_free(&simulated);
}
END_TEST

/* Evenly, about the stated temperature; the outing file says each, and tyres follow. */
START_TEST(recordings_warm_up_and_tyres_with_them) {
    struct cw_simulate_options options =
        quiet(5, "recordings=0 temperature-c=8 warming-k=12 crr-fall-percent=1 companion=yes");
    struct cw_simulated simulated = make(&options);
    const struct cw_outing *outing = &simulated.outing;
    ck_assert_uint_eq(outing->n_own_air, 10);
    for (size_t i = 0; i < 5; i++) {
        const struct cw_simulated_run *run = &simulated.runs[i];
        const struct cw_simulated_run *other = &simulated.companion_runs[i];
        double warmer = 3 * (double)i - 6;
        double crr = options.setups[run->setup].crr;
        ck_assert_double_eq_tol(run->temperature_c, 8 + warmer, 1e-12);
        ck_assert_double_eq_tol(run->crr, crr * exp(-0.01 * warmer), 1e-15);
        ck_assert_double_eq_tol(other->crr, options.companion_crr * exp(-0.01 * warmer), 1e-15);
        ck_assert_double_eq_tol(run->density_kgm3,
                                cw_air_density(8 + warmer, run->pressure_hpa * 100, 0.65), 1e-12);
        ck_assert_uint_eq(outing->own_air[i].recording, i);
        ck_assert_double_eq(outing->own_air[i].air.temperature_c, run->temperature_c);
        ck_assert_double_eq(outing->own_air[5 + i].air.temperature_c, run->temperature_c);
        ck_assert(isnan(outing->own_air[i].air.pressure_hpa));
    }
    cw_simulated_free(&simulated);
}
END_TEST

/* In half of the runs, 5 to 15 s long, wholly within the run; all other samples are as without. */
START_TEST(holes_have_no_samples) {
    struct cw_simulate_options options = quiet(300, "hole-share=0.5 cadence=no");
    struct cw_simulated holed = make(&options);
    options.hole_share = 0;
    struct cw_simulated whole = make(&options);
    const struct cw_samples *a = &whole.recordings[0].samples, *b = &holed.recordings[0].samples;
    size_t holes = 0, k = 0;
    for (size_t r = 0; r < holed.n_runs; r++) {
        const struct cw_simulated_run *run = &holed.runs[r];
        if (run->hole_s <= 0) continue;
        holes++;
        ck_assert(run->hole_s >= 5 && run->hole_s <= 15);
        ck_assert_double_gt(run->hole_start_s, run->start_s);
        ck_assert_double_lt(run->hole_start_s + run->hole_s, run->end_s);
    }
    ck_assert_double_eq_tol((double)holes, 150, 4 * sqrt(75));
    for (size_t i = 0; i < a->n; i++) {
        bool inside = false;
        for (size_t r = 0; r < holed.n_runs && !inside; r++)
            inside = a->time_s[i] > holed.runs[r].hole_start_s &&
                     a->time_s[i] < holed.runs[r].hole_start_s + holed.runs[r].hole_s;
        if (inside) continue;
        ck_assert_uint_lt(k, b->n);
        ck_assert_double_eq(a->time_s[i], b->time_s[k]);
        ck_assert_double_eq(a->latitude_deg[i], b->latitude_deg[k]);
        k++;
    }
    ck_assert_uint_eq(k, b->n);
    cw_simulated_free(&holed);
    cw_simulated_free(&whole);
}
END_TEST

/* As often as said; heights differ from those without by a sum of jumps, which stays; the truth of
 * a run says its part. */
START_TEST(heights_jump_and_stay) {
    struct cw_simulate_options options = quiet(100, "jumps-per-hour=60 jump-m=1.5 cadence=no");
    struct cw_simulated jumped = make(&options);
    options.jumps_per_hour = 0;
    struct cw_simulated smooth = make(&options);
    const struct cw_samples *a = &smooth.recordings[0].samples, *b = &jumped.recordings[0].samples;
    ck_assert_uint_eq(a->n, b->n);
    size_t jumps = 0, in_runs = 0;
    double before_m = 0;
    for (size_t i = 0; i < a->n; i++) {
        double by_m = b->elevation_m[i] - a->elevation_m[i], step_m = fabs(by_m - before_m);
        before_m = by_m;
        if (step_m < 0.002) continue;
        jumps++;
        ck_assert_double_lt(step_m, 4.1); /* now and then two within a second */
    }
    double expected = 60 * (a->time_s[a->n - 1] - a->time_s[0]) / 3600;
    ck_assert_double_eq_tol((double)jumps, expected, 4 * sqrt(expected) + 0.02 * expected);
    for (size_t r = 0; r < jumped.n_runs; r++) {
        const struct cw_simulated_run *run = &jumped.runs[r];
        in_runs += run->n_jumps;
        if (run->n_jumps != 1) continue;
        ck_assert(fabs(run->jump_m) >= 1 && fabs(run->jump_m) <= 2);
    }
    ck_assert_uint_gt(in_runs, 10);
    cw_simulated_free(&jumped);
    cw_simulated_free(&smooth);
}
END_TEST

/* How much recorded heights vary about those of the same outing without the part, rms; barometric.
 */
static double spread_m(const char *lag, double felt_drift_sd_m, double elevation_drift_sd_m) {
    struct cw_simulate_options options =
        quiet(400, "elevation=barometric elevation-drift-sd-m=0 elevation-step-m=0 cadence=no "
                   "felt-drift-time-s=20 elevation-drift-time-s=20");
    struct cw_error error;
    ck_assert_int_eq(cw_simulate_set_all(&options, lag, &error), CW_OK);
    struct cw_simulated without = make(&options);
    options.felt_drift_sd_m = felt_drift_sd_m;
    options.elevation_drift_sd_m = elevation_drift_sd_m;
    struct cw_simulated with = make(&options);
    const struct cw_samples *a = &with.recordings[0].samples, *b = &without.recordings[0].samples;
    double sum2 = 0;
    for (size_t i = 0; i < a->n; i++)
        sum2 += pow(a->elevation_m[i] - b->elevation_m[i], 2) / (double)a->n;
    cw_simulated_free(&with);
    cw_simulated_free(&without);
    return sqrt(sum2);
}

/* What is felt passes the device's smoothing: an Ornstein-Uhlenbeck process of 20 s through a
 * filter of 5 s keeps 20/25 of its variance (the transfer function's integral); what the recorder
 * drifts by keeps all. */
START_TEST(what_is_felt_is_smoothed) {
    ck_assert_double_eq_tol(spread_m("elevation-lag-s=0", 1, 0), 1, 0.06);
    ck_assert_double_eq_tol(spread_m("elevation-lag-s=5", 1, 0), sqrt(20.0 / 25), 0.06);
    ck_assert_double_eq_tol(spread_m("elevation-lag-s=5", 0, 1), 1, 0.06);
}
END_TEST

/* A jump that a filter of 6 s has in full after a while, and 1 - exp(-1) of it after 6 s. */
START_TEST(jumps_are_smoothed_too) {
    struct cw_simulate_options options =
        quiet(20, "elevation-lag-s=6 jumps-per-hour=20 jump-m=3 cadence=no");
    struct cw_simulated jumped = make(&options);
    options.jumps_per_hour = 0;
    struct cw_simulated smooth = make(&options);
    const struct cw_samples *a = &jumped.recordings[0].samples, *b = &smooth.recordings[0].samples;
    size_t i = 0;
    while (i < a->n && fabs(a->elevation_m[i] - b->elevation_m[i]) < 1e-3) i++;
    ck_assert_uint_gt(a->n, i + 60);
    double after_6_s = a->elevation_m[i + 6] - b->elevation_m[i + 6];
    double whole_m = a->elevation_m[i + 59] - b->elevation_m[i + 59];
    ck_assert(fabs(whole_m) >= 2 && fabs(whole_m) <= 4); /* no other jump within that minute */
    /* The jump came within the second before the sample. */
    ck_assert(after_6_s / whole_m > 1 - exp(-1) - 0.01);
    ck_assert(after_6_s / whole_m < 1 - exp(-7.0 / 6) + 0.01);
    cw_simulated_free(&jumped);
    cw_simulated_free(&smooth);
}
END_TEST

START_TEST(points_come_each_2_to_6_s) {
    struct cw_simulate_options options = quiet(60, "interval-s=2 interval-more-s=4");
    struct cw_simulated simulated = make(&options);
    const struct cw_samples *samples = &simulated.recordings[0].samples;
    size_t count[7] = {0};
    for (size_t i = 1; i < samples->n; i++) {
        double dt_s = samples->time_s[i] - samples->time_s[i - 1];
        ck_assert(dt_s >= 2 && dt_s <= 6 && dt_s == rint(dt_s));
        count[(size_t)dt_s]++;
    }
    double each = (double)(samples->n - 1) / 5;
    for (size_t k = 2; k <= 6; k++) ck_assert_double_eq_tol((double)count[k], each, 4 * sqrt(each));
    cw_simulated_free(&simulated);
}
END_TEST

/* Height of a recording where it comes nearest to a place of the run. */
static double height_near(const struct cw_samples *samples, const struct cw_simulated_run *run,
                          double latitude_deg) {
    double best_deg = INFINITY, height_m = NAN;
    for (size_t i = 0; i < samples->n; i++) {
        double off_deg = fabs(samples->latitude_deg[i] - latitude_deg);
        if (samples->time_s[i] < run->start_s || samples->time_s[i] > run->end_s ||
            off_deg >= best_deg)
            continue;
        best_deg = off_deg;
        height_m = samples->elevation_m[i];
    }
    return height_m;
}

/* Heights from a map are off by metres, and by the same at each pass of a place: here at 0.1 s,
 * half a metre apart at most, so within a step of 0.1 m and what the slope and the map do over
 * that. */
START_TEST(a_map_is_wrong_alike_at_each_pass) {
    struct cw_simulate_options options = quiet(2, "elevation=terrain interval-s=0.1 cadence=no");
    struct cw_simulated mapped = make(&options);
    cw_simulate_elevation(&options, CW_ELEVATION_SURVEYED);
    struct cw_simulated true_ = make(&options);
    const struct cw_samples *samples = &mapped.recordings[0].samples;
    const struct cw_samples *right = &true_.recordings[0].samples;
    double largest_m = 0;
    size_t seen = 0;
    for (size_t i = 0; i < samples->n; i++) {
        const struct cw_simulated_run *run = &mapped.runs[0];
        largest_m = fmax(largest_m, fabs(samples->elevation_m[i] - right->elevation_m[i]));
        if (samples->time_s[i] < run->start_s + 1 || samples->time_s[i] > run->end_s - 1) continue;
        double again_m = height_near(samples, &mapped.runs[1], samples->latitude_deg[i]);
        ck_assert_double_eq_tol(samples->elevation_m[i], again_m, 0.5);
        seen++;
    }
    ck_assert_uint_gt(seen, 200);
    ck_assert_double_gt(largest_m, 1.5);
    ck_assert_int_eq(mapped.outing.elevation, CW_ELEVATION_TERRAIN);
    cw_simulated_free(&mapped);
    cw_simulated_free(&true_);
}
END_TEST

/* The filter's time constant and half an interval late, which in even acceleration is a v'; and its
 * sum is the distance. */
START_TEST(own_speed_is_late) {
    struct cw_simulate_options options = quiet(1, "road=1000:-6 speed=own own-speed-lag-s=2.5");
    struct cw_simulated own = make(&options);
    options.speed = CW_SIMULATE_SPEED_DOPPLER;
    struct cw_simulated prompt = make(&options);
    const struct cw_samples *a = &own.recordings[0].samples, *b = &prompt.recordings[0].samples;
    size_t i = 0;
    while (a->time_s[i] < own.runs[0].start_s + 30) i++;
    /* At three whole seconds before. */
    ck_assert_double_eq_tol(a->speed_ms[i], b->speed_ms[i - 3], 0.03);
    ck_assert_double_gt(b->speed_ms[i], b->speed_ms[i - 3] + 0.3);
    double sum_m = 0;
    for (size_t k = i + 1; k <= i + 20; k++) sum_m += a->speed_ms[k];
    ck_assert_double_eq_tol(a->distance_m[i + 20] - a->distance_m[i], sum_m, 0.05);
    cw_simulated_free(&own);
    cw_simulated_free(&prompt);
}
END_TEST

/* An error of seconds on positions, and nothing else. */
START_TEST(positions_err_for_seconds) {
    struct cw_simulate_options options =
        quiet(60, "position-fast-sd-m=0.4 position-fast-time-s=3 cadence=no");
    struct cw_simulated noisy = make(&options);
    options.position_fast_sd_m = 0;
    struct cw_simulated clean = make(&options);
    const struct cw_samples *a = &noisy.recordings[0].samples, *b = &clean.recordings[0].samples;
    double sum2 = 0, product = 0, before_m = 0;
    for (size_t i = 0; i < a->n; i++) {
        double north_m = (a->latitude_deg[i] - b->latitude_deg[i]) * 111200;
        sum2 += north_m * north_m;
        product += north_m * before_m;
        before_m = north_m;
    }
    double independent = (double)a->n / 6;
    ck_assert_double_eq_tol(sqrt(sum2 / (double)a->n), 0.4, 0.4 * 4 / sqrt(2 * independent));
    ck_assert_double_eq_tol(product / sum2, exp(-1.0 / 3), 0.05);
    cw_simulated_free(&noisy);
    cw_simulated_free(&clean);
}
END_TEST

/* By turns from either end, in a wind that is then a tail wind; positions say so. */
START_TEST(every_second_run_comes_back) {
    struct cw_simulate_options options =
        quiet(4, "road=350:-2,350:2 start-speed-ms=10 both-ways=yes wind-along-ms=1 speed=wheel");
    struct cw_simulated simulated = make(&options);
    const struct cw_samples *samples = &simulated.recordings[0].samples;
    const struct cw_simulated_run *runs = simulated.runs;
    struct cw_metric metric = cw_metric_make(options.latitude_deg, options.longitude_deg);
    cw_metric_raise(&metric, options.height_m);
    for (size_t r = 0; r < 4; r++) {
        ck_assert_int_eq(runs[r].way, r % 2 ? -1 : 1);
        ck_assert_double_eq(runs[r].wind_ms, r % 2 ? -1 : 1);
        size_t i = 0;
        while (samples->time_s[i] < runs[r].start_s) i++;
        double east_m, north_m, past_s = samples->time_s[i] - runs[r].start_s;
        cw_metric_to_plane(&metric, samples->latitude_deg[i], samples->longitude_deg[i], &east_m,
                           &north_m);
        ck_assert_double_eq_tol(hypot(east_m, north_m), r % 2 ? 700 - 10 * past_s : 10 * past_s,
                                0.5);
    }
    /* The road is the same from both ends, and both ways end on its rise: a tail wind is all that
     * takes the way back farther. */
    ck_assert(runs[0].descent.stopped && runs[1].descent.stopped);
    ck_assert_double_gt(runs[1].descent.end_s_m, runs[0].descent.end_s_m + 5);
    ck_assert_double_eq_tol(runs[0].descent.end_time_s, runs[2].descent.end_time_s, 1e-6);
    ck_assert_double_eq_tol(runs[0].height_m[0], runs[1].height_m[0], 1e-6);
    cw_simulated_free(&simulated);
}
END_TEST

START_TEST(what_a_recorder_cannot_hold_is_said) {
    struct cw_simulate_options options = quiet(1, "device-temperature=yes");
    struct cw_simulated simulated;
    struct cw_error error = {0};
    ck_assert_int_eq(cw_simulate(&options, &simulated, &error), CW_E_ARGUMENT);
    ck_assert_str_eq(error.message, "a TCX recording holds no temperature; use another format, or "
                                    "leave the device's temperature out");
    options = quiet(1, "positions=no speed=own");
    ck_assert_int_eq(cw_simulate(&options, &simulated, &error), CW_E_ARGUMENT);
    ck_assert_str_eq(error.message, "a speed made of positions cannot be had without positions");
    options = quiet(1, "positions=no elevation=terrain");
    ck_assert_int_eq(cw_simulate(&options, &simulated, &error), CW_E_ARGUMENT);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("simulate_parts");
    TCase *cases = tcase_create("simulate_parts");
    tcase_set_timeout(cases, 60);
    tcase_add_test(cases, a_brush_takes_its_speed);
    tcase_add_test(cases, brushes_are_in_their_share_of_runs);
    tcase_add_test(cases, bends_cost_by_the_angle_turned);
    tcase_add_test(cases, days_have_air_of_their_own);
    tcase_add_test(cases, recordings_warm_up_and_tyres_with_them);
    tcase_add_test(cases, holes_have_no_samples);
    tcase_add_test(cases, heights_jump_and_stay);
    tcase_add_test(cases, what_is_felt_is_smoothed);
    tcase_add_test(cases, jumps_are_smoothed_too);
    tcase_add_test(cases, points_come_each_2_to_6_s);
    tcase_add_test(cases, a_map_is_wrong_alike_at_each_pass);
    tcase_add_test(cases, own_speed_is_late);
    tcase_add_test(cases, positions_err_for_seconds);
    tcase_add_test(cases, every_second_run_comes_back);
    tcase_add_test(cases, what_a_recorder_cannot_hold_is_said);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
