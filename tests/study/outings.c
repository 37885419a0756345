#include "outings.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fit/workings.h"
#define CASE(n, m, r, t) .name = n, .meaning = m, .road = r, .temperature_c = t
const struct study_case study_cases[] = {
    {CASE("still", "barometric, air nearly still (gust sd 0.02 m/s)", "straight", 12),
     .gust_sd_ms = 0.02, .cda_difference_percent = -3},
    {CASE("light", "barometric, light air (0.15 m/s)", "straight", 12), .gust_sd_ms = 0.15,
     .cda_difference_percent = -3},
    {CASE("gusts", "barometric, gusts 0.3 m/s", "straight", 12), .gust_sd_ms = 0.3,
     .cda_difference_percent = -3},
    {CASE("satellite", "satellite elevations, 0.15 m/s", "straight", 12), .gust_sd_ms = 0.15,
     .cda_difference_percent = -3, .satellite = true},
    {CASE("load", "10 kg more load, same drag, 0.15 m/s", "straight", 12), .gust_sd_ms = 0.15,
     .load_kg = 10},
    {CASE("steep", "steep (-10 %), 0.15 m/s", "steep", 12), .gust_sd_ms = 0.15,
     .cda_difference_percent = -3},
    {CASE("positions", "positions and elevation only", "straight", 12), .gust_sd_ms = 0.15,
     .cda_difference_percent = -3, .positions_only = true},
    {CASE("uncadenced", "wheel speed, no cadence", "straight", 12), .gust_sd_ms = 0.15,
     .cda_difference_percent = -3, .no_cadence = true},
    {CASE("lag", "barometric lag of 2 s, heights in steps of 1 m", "straight", 12),
     .gust_sd_ms = 0.15, .cda_difference_percent = -3, .lag_s = 2, .step_m = 1},
    {CASE("anylag", "barometric lag unknown, 0 to 3 s", "straight", 12), .gust_sd_ms = 0.15,
     .cda_difference_percent = -3, .still_lag = true},
    {CASE("flattening", "slope that flattens, 0.15 m/s", "flattening", 12), .gust_sd_ms = 0.15,
     .cda_difference_percent = -3},
    {CASE("dip", "through a dip, 0.15 m/s", "dip", 12), .gust_sd_ms = 0.15,
     .cda_difference_percent = -3},
    {CASE("flattening-still", "slope that flattens, nearly still", "flattening", 12),
     .gust_sd_ms = 0.02, .cda_difference_percent = -3},
    {CASE("dip-still", "through a dip, nearly still", "dip", 12), .gust_sd_ms = 0.02,
     .cda_difference_percent = -3},
    {CASE("flattening-gusts", "slope that flattens, 0.3 m/s", "flattening", 12), .gust_sd_ms = 0.3,
     .cda_difference_percent = -3},
    {CASE("dip-gusts", "through a dip, 0.3 m/s", "dip", 12), .gust_sd_ms = 0.3,
     .cda_difference_percent = -3},
    {CASE("cold", "air of -5 C, 0.15 m/s", "straight", -5), .gust_sd_ms = 0.15,
     .cda_difference_percent = -3},
    {CASE("warm", "air of 30 C, 0.15 m/s", "straight", 30), .gust_sd_ms = 0.15,
     .cda_difference_percent = -3},
    {CASE("null", "no difference, 0.15 m/s", "straight", 12), .gust_sd_ms = 0.15},
    {CASE("scatter", "CdA scatters 1 % from run to run, 0.15 m/s", "straight", 12),
     .gust_sd_ms = 0.15, .cda_difference_percent = -3, .cda_scatter_percent = 1},
};
const size_t study_n_cases = sizeof study_cases / sizeof *study_cases;

const struct study_case *study_case_named(const char *name) {
    for (size_t i = 0; i < study_n_cases; i++)
        if (!strcmp(study_cases[i].name, name)) return &study_cases[i];
    return NULL;
}

void study_list_cases(FILE *to) {
    for (size_t i = 0; i < study_n_cases; i++)
        fprintf(to, "  %-18s %s\n", study_cases[i].name, study_cases[i].meaning);
}

/* A number in 0..1 that depends on the seed alone (splitmix64, S. Vigna, public domain). */
static double even(unsigned long seed) {
    unsigned long long z = seed * 0x9e3779b97f4a7c15ull + 0x9e3779b97f4a7c15ull;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ull;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebull;
    return (double)((z ^ (z >> 31)) >> 11) / 9007199254740992.0;
}

static struct cw_simulate_options options_of(const struct study_case *c, unsigned long seed) {
    struct cw_simulate_options options = cw_simulate_options_default();
    struct cw_error error;
    options.seed = seed;
    cw_simulate_road(&options, c->road, &error);
    cw_simulate_elevation(&options,
                          c->satellite ? CW_ELEVATION_SATELLITE : CW_ELEVATION_BAROMETRIC);
    options.gust_sd_ms = c->gust_sd_ms;
    options.temperature_c = c->temperature_c;
    options.elevation_lag_s = c->still_lag ? 3 * even(seed) : c->lag_s;
    if (c->step_m > 0) options.elevation_step_m = c->step_m;
    options.cda_scatter_percent = c->cda_scatter_percent;
    options.setups[1].cda_m2 = options.setups[0].cda_m2 * (1 + c->cda_difference_percent / 100);
    options.setups[1].crr = options.setups[0].crr;
    options.setups[0].load_kg = 0;
    options.setups[1].load_kg = c->load_kg;
    if (c->no_cadence) options.cadence = false;
    if (c->positions_only) {
        options.speed = CW_SIMULATE_SPEED_NONE;
        options.distance = options.cadence = false;
        options.format = CW_FORMAT_GPX;
    }
    return options;
}

static bool say(const char *what, unsigned long seed, const struct cw_error *error) {
    fprintf(stderr, "seed %lu: %s: %s\n", seed, what, error->message);
    return false;
}

bool study_outing_make(const struct study_case *c, unsigned long seed,
                       struct study_outing *outing) {
    struct cw_error error;
    bool missed;
    *outing = (struct study_outing){.options = options_of(c, seed)};
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

double study_bound_percent(const struct study_outing *outing) {
    const struct cw_simulate_options *o = &outing->options;
    const struct cw_fit *fit = &outing->made.of->fit;
    /* The fitted equations under the noise that was truly made, all of it known. */
    struct cw_noise noise = fit->noise;
    noise.gust_sd_ms = o->gust_sd_ms;
    noise.gust_time_s = o->gust_time_s;
    noise.drift_sd_m = fmax(o->elevation_drift_sd_m, 1e-3);
    noise.drift_time_s = o->elevation_drift_time_s;
    noise.elevation_sd_m = fmax(o->elevation_sd_m, 1e-3);
    noise.speed_sd_ms = o->speed_sd_ms;
    noise.wander_sd_m = o->position_drift_sd_m;
    noise.wander_time_s = o->position_drift_time_s;
    noise.jitter_sd_m = 0;
    noise.position_sd_m = o->position_sd_m;
    struct cw_information information;
    struct cw_error error;
    double unused, variance = 0, scatter = o->cda_scatter_percent / 100;
    size_t nt = fit->n_tyres, n = nt + fit->n_runs, per[2] = {0, 0};
    double *covariance = malloc(n * n * sizeof *covariance), weight[CW_SIMULATE_RUNS_MAX] = {0};
    if (!covariance || cw_information_alloc(nt, fit->n_runs, &information, &error) < 0) abort();
    if (cw_joint_evaluate(&fit->workings->joint, NULL, fit->n_runs, &noise, &unused, &information,
                          NULL, &error) < 0 ||
        cw_information_solve(&information, NULL, covariance, &error) < 0)
        abort();
    for (size_t i = 0; i < fit->n_runs; i++) per[fit->runs[i].setup == 1]++;
    for (size_t i = 0; i < fit->n_runs; i++) {
        bool second = fit->runs[i].setup == 1;
        weight[i] = (second ? 1 : -1) / (double)per[second] / o->setups[second].cda_m2;
        variance += scatter * scatter / (double)(per[second] * per[second]);
    }
    for (size_t i = 0; i < fit->n_runs; i++)
        for (size_t j = 0; j < fit->n_runs; j++)
            variance += weight[i] * covariance[(nt + i) * n + nt + j] * weight[j];
    cw_information_free(&information);
    free(covariance);
    return 100 * sqrt(variance) * o->setups[1].cda_m2 / o->setups[0].cda_m2;
}
