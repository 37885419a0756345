#include "outings.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fit/workings.h"
#include "simulate/settings.h"
#include "simulate/worlds.h"
#include "stats/symmetric.h"

/* The second setup drags 3 % less. */
#define USUAL "setups=cape:0.42,jacket:0.4074 "

static const struct study_case own_cases[] = {
    {"satellite", "satellite elevations, 0.15 m/s", "elevation=satellite", false},
    {"load", "10 kg more load, same drag, 0.15 m/s", "setups=cape:0.42,jacket:0.42:0.005:10",
     false},
    {"steep", "steep (-10 %), 0.15 m/s", "road=steep", false},
    {"positions", "positions and elevation only", "speed=none distance=no cadence=no format=gpx",
     false},
    {"uncadenced", "wheel speed, no cadence", "cadence=no", false},
    {"lag", "barometric lag of 2 s, heights in steps of 1 m",
     "elevation-lag-s=2 elevation-step-m=1", false},
    {"anylag", "barometric lag unknown, 0 to 3 s", "", true},
    {"flattening", "slope that flattens, 0.15 m/s", "road=flattening", false},
    {"dip", "through a dip, 0.15 m/s", "road=dip", false},
    {"flattening-still", "slope that flattens, nearly still", "road=flattening gust-sd-ms=0.02",
     false},
    {"dip-still", "through a dip, nearly still", "road=dip gust-sd-ms=0.02", false},
    {"flattening-gusts", "slope that flattens, 0.3 m/s", "road=flattening gust-sd-ms=0.3", false},
    {"dip-gusts", "through a dip, 0.3 m/s", "road=dip gust-sd-ms=0.3", false},
    {"cold", "air of -5 C, 0.15 m/s", "temperature-c=-5", false},
    {"warm", "air of 30 C, 0.15 m/s", "temperature-c=30", false},
    {"null", "no difference, 0.15 m/s", "setups=cape:0.42,jacket:0.42", false},
    {"scatter", "CdA scatters 1 % from run to run, 0.15 m/s", "cda-scatter-percent=1", false},
};
#define OWN_CASES (sizeof own_cases / sizeof *own_cases)

bool study_case_at(size_t i, struct study_case *c) {
    if (i < OWN_CASES) {
        *c = own_cases[i];
        return true;
    }
    const struct cw_simulate_world *world = cw_simulate_world_at(i - OWN_CASES);
    if (world) *c = (struct study_case){world->name, world->meaning, world->settings, false};
    return world != NULL;
}

bool study_case_named(const char *name, struct study_case *c) {
    for (size_t i = 0; study_case_at(i, c); i++)
        if (!strcmp(c->name, name)) return true;
    return false;
}

void study_list_cases(FILE *to) {
    struct study_case c;
    for (size_t i = 0; study_case_at(i, &c); i++) fprintf(to, "  %-18s %s\n", c.name, c.meaning);
}

/* A number in 0..1 that depends on the seed alone (splitmix64, S. Vigna, public domain). */
static double even(unsigned long seed) {
    unsigned long long z = seed * 0x9e3779b97f4a7c15ull + 0x9e3779b97f4a7c15ull;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ull;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebull;
    return (double)((z ^ (z >> 31)) >> 11) / 9007199254740992.0;
}

static enum cw_status options_of(const struct study_case *c, unsigned long seed,
                                 struct cw_simulate_options *options, struct cw_error *error) {
    *options = cw_simulate_options_default();
    options->seed = seed;
    if (c->still_lag) options->elevation_lag_s = 3 * even(seed);
    enum cw_status status = cw_simulate_set_all(options, USUAL, error);
    return status ? status : cw_simulate_set_all(options, c->settings, error);
}

static bool say(const char *what, unsigned long seed, const struct cw_error *error) {
    fprintf(stderr, "seed %lu: %s: %s\n", seed, what, error->message);
    return false;
}

bool study_outing_make(const struct study_case *c, unsigned long seed,
                       struct study_outing *outing) {
    struct cw_error error;
    bool missed;
    *outing = (struct study_outing){0};
    if (options_of(c, seed, &outing->options, &error) < 0) return say("not set", seed, &error);
    if (made_begin(&outing->made, &outing->options, &error) < 0)
        return say("not made", seed, &error);
    if (made_find(&outing->made, &missed, &error) < 0) return say("no runs", seed, &error);
    outing->found = !missed;
    if (!outing->found) return true;
    if (cw_analysis_fit(&outing->made.analysis, &error) < 0) return say("not fitted", seed, &error);
    outing->fitted = true;
    return true;
}

void study_outing_free(struct study_outing *outing) {
    made_free(&outing->made);
}

/* How a run's log CdA answers to a headwind of 1 m/s that it is not told of: twice the mean of v
 * over that of v2, along the road. */
static double by_wind(const struct cw_simulated_run *run) {
    const struct cw_descent *descent = &run->descent;
    double speed2 = 0, speed3 = 0;
    for (size_t i = 0; i < descent->n; i++) {
        speed2 += pow(descent->speed_ms[i], 2);
        speed3 += pow(descent->speed_ms[i], 3);
    }
    return 2 * speed2 / speed3 * run->way;
}

/* Adds what differs between runs to the covariance of their log CdA. */
static void add_between(const struct study_outing *outing, double *covariance) {
    const struct cw_simulate_options *o = &outing->options;
    const struct cw_fit *fit = &outing->made.of->fit;
    for (size_t i = 0; i < fit->n_runs; i++) {
        const struct cw_simulated_run *a = made_truth(&outing->made, fit->runs[i].run);
        for (size_t j = 0; j < fit->n_runs; j++) {
            const struct cw_simulated_run *b = made_truth(&outing->made, fit->runs[j].run);
            double wind2 = pow(o->wander_wind_sd_ms, 2) *
                           exp(-fabs(a->start_s - b->start_s) / o->wander_wind_time_s);
            if (i == j) wind2 += pow(o->run_wind_sd_ms, 2);
            covariance[i * fit->n_runs + j] += wind2 * by_wind(a) * by_wind(b);
            if (i == j) covariance[i * fit->n_runs + j] += pow(o->cda_scatter_percent / 100, 2);
        }
    }
}

/* The noise that was truly made, all of it known. */
static struct cw_noise noise_made(const struct study_outing *outing) {
    const struct cw_simulate_options *o = &outing->options;
    struct cw_noise noise = outing->made.of->fit.noise;
    noise.gust_sd_ms = o->gust_sd_ms;
    noise.gust_time_s = o->gust_time_s;
    noise.drift_sd_m = fmax(o->elevation_drift_sd_m, 1e-3);
    noise.drift_time_s = o->elevation_drift_time_s;
    noise.elevation_sd_m = fmax(o->elevation_sd_m, 1e-3);
    noise.speed_sd_ms = o->speed_sd_ms;
    noise.wander_sd_m = o->position_drift_sd_m;
    noise.wander_time_s = o->position_drift_time_s;
    noise.jitter_sd_m = o->position_fast_sd_m;
    if (o->position_fast_sd_m > 0) noise.jitter_time_s = o->position_fast_time_s;
    noise.position_sd_m = o->position_sd_m;
    return noise;
}

static bool has_bound(const struct cw_simulate_options *o) {
    return o->brush_share <= 0 && o->bend_crr <= 0 && o->jumps_per_hour <= 0 &&
           o->temperature_sd_c <= 0 && o->pressure_sd_hpa <= 0 &&
           o->elevation != CW_ELEVATION_TERRAIN && o->speed != CW_SIMULATE_SPEED_OWN;
}

double study_bound_percent(const struct study_outing *outing) {
    const struct cw_simulate_options *o = &outing->options;
    const struct cw_fit *fit = &outing->made.of->fit;
    if (!has_bound(o)) return NAN;
    struct cw_noise noise = noise_made(outing);
    struct cw_information information;
    struct cw_error error;
    double unused;
    size_t nt = fit->n_tyres, runs = fit->n_runs, n = nt + runs;
    double *covariance = malloc(n * n * sizeof *covariance);
    double *logs = calloc(runs * runs, sizeof *logs), *design = malloc(2 * runs * sizeof *design);
    if (!covariance || !logs || !design || cw_information_alloc(nt, runs, &information, &error) < 0)
        abort();
    if (cw_joint_evaluate(&fit->workings->joint, NULL, runs, &noise, &unused, &information, NULL,
                          &error) < 0 ||
        cw_information_solve(&information, NULL, covariance, &error) < 0)
        abort();
    for (size_t i = 0; i < runs; i++) {
        double cda = o->setups[fit->runs[i].setup].cda_m2;
        for (size_t j = 0; j < runs; j++)
            logs[i * runs + j] =
                covariance[(nt + i) * n + nt + j] / cda / o->setups[fit->runs[j].setup].cda_m2;
        design[2 * i] = 1;
        design[2 * i + 1] = fit->runs[i].setup == 1;
    }
    /* Least squares of the runs' log CdA on a level and a difference, weighted by all that. */
    add_between(outing, logs);
    if (!cw_cholesky_factor(runs, logs)) abort();
    cw_cholesky_whiten(runs, logs, 2, design);
    double level = 0, both = 0, difference = 0;
    for (size_t i = 0; i < runs; i++) {
        level += design[2 * i] * design[2 * i];
        both += design[2 * i] * design[2 * i + 1];
        difference += design[2 * i + 1] * design[2 * i + 1];
    }
    cw_information_free(&information);
    free(covariance);
    free(logs);
    free(design);
    double variance = level / (level * difference - both * both);
    return 100 * sqrt(variance) * o->setups[1].cda_m2 / o->setups[0].cda_m2;
}
