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

/* The k-th normal number of a seed (Box and Muller 1958, Ann. Math. Stat. 29:610). */
static double normal(unsigned long seed, unsigned long k) {
    double u = even(1000003 * seed + 2 * k), v = even(1000003 * seed + 2 * k + 1);
    return sqrt(-2 * log(u + 1e-300)) * cos(2 * 3.14159265358979323846 * v);
}

/* By the uncertainties that the outing states, and those that fit/budget.c takes for what nobody
 * states: a load's 0.1 kg, the wheels' tenth, a 500th of all heights. */
static void state_wrongly(unsigned long seed, struct cw_analysed *of) {
    struct cw_outing *o = &of->outing;
    double load_kg = 0.1 * normal(seed, 0), scale = 1 + 0.002 * normal(seed, 1);
    o->rider.mass_kg += o->rider.mass_uncertainty_kg * normal(seed, 2);
    o->rider.bike_mass_kg += o->rider.bike_mass_uncertainty_kg * normal(seed, 3);
    o->rider.wheel_inertia_kgm2 *= 1 + 0.1 * normal(seed, 4);
    for (size_t s = 0; s < o->n_setups; s++)
        if (o->setups[s].load_kg != 0) o->setups[s].load_kg += load_kg;
    o->air.temperature_c += o->air.temperature_uncertainty_c * normal(seed, 5);
    o->air.pressure_hpa += o->air.pressure_uncertainty_hpa * normal(seed, 6);
    o->air.humidity_percent += o->air.humidity_uncertainty_percent * normal(seed, 7);
    o->air.humidity_percent = fmin(100, fmax(0, o->air.humidity_percent));
    o->wind_along_ms += o->wind_uncertainty_ms * normal(seed, 8);
    for (size_t r = 0; r < of->n_recordings; r++) {
        struct cw_samples *samples = &of->recordings[r].samples;
        for (size_t i = samples->n; i-- > 0;)
            samples->elevation_m[i] = samples->elevation_m[0] +
                                      scale * (samples->elevation_m[i] - samples->elevation_m[0]);
    }
}

static bool make(const struct study_case *c, unsigned long seed, bool stated,
                 struct study_outing *outing) {
    struct cw_error error;
    bool missed;
    *outing = (struct study_outing){0};
    if (options_of(c, seed, &outing->options, &error) < 0) return say("not set", seed, &error);
    if (made_begin(&outing->made, &outing->options, &error) < 0)
        return say("not made", seed, &error);
    if (stated) state_wrongly(seed, outing->made.of);
    if (made_find(&outing->made, &missed, &error) < 0) return say("no runs", seed, &error);
    outing->found = !missed;
    if (!outing->found) return true;
    if (cw_analysis_fit(&outing->made.analysis, &error) < 0) return say("not fitted", seed, &error);
    outing->fitted = true;
    return true;
}

bool study_outing_make(const struct study_case *c, unsigned long seed,
                       struct study_outing *outing) {
    return make(c, seed, false, outing);
}

bool study_outing_make_stated(const struct study_case *c, unsigned long seed,
                              struct study_outing *outing) {
    return make(c, seed, true, outing);
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

/* How many runs came before: a companion's with the rider's of the same number. */
static size_t number_of(const struct study_outing *outing, const struct cw_simulated_run *run) {
    const struct cw_simulated *truth = &outing->made.truth;
    bool own = run >= truth->runs && run < truth->runs + truth->n_runs;
    return (size_t)(run - (own ? truth->runs : truth->companion_runs));
}

static bool is_companion(const struct study_outing *outing, const struct cw_simulated_run *run) {
    return run->setup == outing->options.n_setups;
}

/* The variance of what was known of a run's wind besides; infinite: nothing. What the sensor's own
 * gusts come to over the run is the mean of an Ornstein-Uhlenbeck process. */
static double known_variance(const struct study_outing *outing,
                             const struct cw_simulated_run *run) {
    const struct cw_simulate_options *o = &outing->options;
    if (is_companion(outing, run)) return INFINITY;
    double part = o->gust_time_s / (run->end_s - run->start_s), know = 0;
    double mean = 2 * part * (1 - part * (1 - exp(-1 / part)));
    if (o->note_wind) know += 1 / pow(fmax(o->note_sd_ms, 1e-4), 2);
    if (o->air_log) know += 1 / (pow(fmax(o->log_gust_sd_ms, 1e-4) / o->log_factor, 2) * mean);
    return 1 / know;
}

/* The covariance of the runs' winds but for gusts, given what was known of them: factor and offset
 * of notes and log as they were. */
static void winds(const struct study_outing *outing, double *covariance) {
    const struct cw_simulate_options *o = &outing->options;
    const struct cw_fit *fit = &outing->made.of->fit;
    size_t n = fit->n_runs;
    for (size_t i = 0; i < n; i++) {
        const struct cw_simulated_run *a = made_truth(&outing->made, fit->runs[i].run);
        for (size_t j = 0; j < n; j++) {
            const struct cw_simulated_run *b = made_truth(&outing->made, fit->runs[j].run);
            double wind2 = pow(o->wander_wind_sd_ms, 2) *
                           exp(-fabs(a->start_s - b->start_s) / o->wander_wind_time_s);
            if (number_of(outing, a) == number_of(outing, b)) wind2 += pow(o->run_wind_sd_ms, 2);
            covariance[i * n + j] = wind2;
        }
    }
    for (size_t k = 0; k < n; k++) { /* an observation after the other */
        double error2 = known_variance(outing, made_truth(&outing->made, fit->runs[k].run));
        double whole = covariance[k * n + k] + error2;
        if (!isfinite(whole) || whole <= 0) continue;
        for (size_t i = 0; i < n; i++)
            for (size_t j = 0; j < n && i != k; j++)
                if (j != k)
                    covariance[i * n + j] -= covariance[i * n + k] * covariance[k * n + j] / whole;
        for (size_t i = 0; i < n; i++)
            if (i != k) covariance[i * n + k] = covariance[k * n + i] *= error2 / whole;
        covariance[k * n + k] *= error2 / whole;
    }
}

/* Adds what differs between runs to the covariance of their log CdA. */
static void add_between(const struct study_outing *outing, double *covariance) {
    const struct cw_fit *fit = &outing->made.of->fit;
    size_t n = fit->n_runs;
    double *wind2 = malloc(n * n * sizeof *wind2);
    if (!wind2) abort();
    winds(outing, wind2);
    for (size_t i = 0; i < n; i++) {
        const struct cw_simulated_run *a = made_truth(&outing->made, fit->runs[i].run);
        for (size_t j = 0; j < n; j++) {
            const struct cw_simulated_run *b = made_truth(&outing->made, fit->runs[j].run);
            covariance[i * n + j] += wind2[i * n + j] * by_wind(a) * by_wind(b);
        }
        if (!is_companion(outing, a))
            covariance[i * n + i] += pow(outing->options.cda_scatter_percent / 100, 2);
    }
    free(wind2);
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

enum { COLUMNS = 3 }; /* a level, the companion's level, a difference */

static double product(size_t n, const double *design, size_t a, size_t b) {
    double sum = 0;
    for (size_t i = 0; i < n; i++) sum += design[COLUMNS * i + a] * design[COLUMNS * i + b];
    return sum;
}

/* Takes from a column what it has of another. */
static void orthogonalise(size_t n, double *design, size_t column, size_t of) {
    double whole = product(n, design, of, of);
    if (whole <= 0) return; /* nobody came along */
    double part = product(n, design, column, of) / whole;
    for (size_t i = 0; i < n; i++) design[COLUMNS * i + column] -= part * design[COLUMNS * i + of];
}

static double cda_of(const struct cw_simulate_options *o, size_t setup) {
    return setup < o->n_setups ? o->setups[setup].cda_m2 : o->companion_cda_m2;
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
    double *logs = calloc(runs * runs, sizeof *logs),
           *design = malloc(COLUMNS * runs * sizeof *design);
    if (!covariance || !logs || !design || cw_information_alloc(nt, runs, &information, &error) < 0)
        abort();
    if (cw_joint_evaluate(&fit->workings->joint, NULL, runs, &noise, &unused, &information, NULL,
                          &error) < 0 ||
        cw_information_solve(&information, NULL, covariance, &error) < 0)
        abort();
    for (size_t i = 0; i < runs; i++) {
        size_t setup = fit->runs[i].setup;
        for (size_t j = 0; j < runs; j++)
            logs[i * runs + j] = covariance[(nt + i) * n + nt + j] / cda_of(o, setup) /
                                 cda_of(o, fit->runs[j].setup);
        design[COLUMNS * i] = setup < o->n_setups;
        design[COLUMNS * i + 1] = setup >= o->n_setups;
        design[COLUMNS * i + 2] = setup == 1;
    }
    /* Least squares of the runs' log CdA on levels and a difference, weighted by all that. */
    add_between(outing, logs);
    if (!cw_cholesky_factor(runs, logs)) abort();
    cw_cholesky_whiten(runs, logs, COLUMNS, design);
    orthogonalise(runs, design, 1, 0);
    orthogonalise(runs, design, 2, 0);
    orthogonalise(runs, design, 2, 1);
    double told = product(runs, design, 2, 2);
    cw_information_free(&information);
    free(covariance);
    free(logs);
    free(design);
    return 100 / sqrt(told) * o->setups[1].cda_m2 / o->setups[0].cda_m2;
}

/* Crr of up to two sets of tyres, then the drag of both setups: their covariance, were all
 * variances known. Returns the sets; 0 where there is no such bound. */
enum { FREE = 4 };
static size_t known_noise(const struct study_outing *outing, double of_free[FREE * FREE]) {
    const struct cw_fit *fit = &outing->made.of->fit;
    size_t nt = fit->n_tyres, runs = fit->n_runs, n = nt + runs, free_n = nt + 2;
    if (!has_bound(&outing->options) || free_n > FREE) return 0;
    struct cw_noise noise = noise_made(outing);
    struct cw_information information;
    struct cw_error error;
    double unused;
    double *precision = malloc(n * n * sizeof *precision);
    if (!precision || cw_information_alloc(nt, runs, &information, &error) < 0) abort();
    if (cw_joint_evaluate(&fit->workings->joint, NULL, runs, &noise, &unused, &information, NULL,
                          &error) < 0 ||
        cw_information_solve(&information, NULL, precision, &error) < 0 ||
        !cw_cholesky_inverse(n, precision))
        abort();
    memset(of_free, 0, FREE * FREE * sizeof *of_free);
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            size_t a = i < nt ? i : nt + (fit->runs[i - nt].setup == 1),
                   b = j < nt ? j : nt + (fit->runs[j - nt].setup == 1);
            of_free[a * free_n + b] += precision[i * n + j];
        }
    if (!cw_cholesky_inverse(free_n, of_free)) abort();
    cw_information_free(&information);
    free(precision);
    return nt;
}

double study_bound_crr(const struct study_outing *outing) {
    double of_free[FREE * FREE];
    return known_noise(outing, of_free) ? sqrt(of_free[0]) : NAN;
}

double study_bound_crr_difference(const struct study_outing *outing) {
    double of_free[FREE * FREE];
    return known_noise(outing, of_free) == 2 ? sqrt(of_free[0] + of_free[FREE + 1] - 2 * of_free[1])
                                             : NAN;
}
