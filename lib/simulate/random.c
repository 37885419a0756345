#include "simulate/random.h"

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <stdlib.h>

/* Spreads seed and stream over all bits (the finaliser of S. Vigna's splitmix64), so that
 * neighbouring seeds and streams begin far apart. */
static uint64_t mix(uint64_t x) {
    x = (x ^ (x >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    x = (x ^ (x >> 27)) * UINT64_C(0x94d049bb133111eb);
    return x ^ (x >> 31);
}

/* The generator in GSL's terms. Not by its own allocation, which ends the program where memory runs
 * out. */
static gsl_rng generator_of(const struct cw_random *random) {
    return (gsl_rng){gsl_rng_mt19937, random->state};
}

struct cw_random cw_random_make(unsigned long seed, unsigned long stream) {
    struct cw_random random = {malloc(gsl_rng_mt19937->size)};
    if (random.state) {
        uint64_t start = mix(mix(seed + UINT64_C(0x9e3779b97f4a7c15)) + stream);
        gsl_rng generator = generator_of(&random);
        /* The generator takes 32 bits, and for 0 a number of its own. */
        gsl_rng_set(&generator, (unsigned long)(start & 0xffffffffu) | 1u << 31);
    }
    return random;
}

void cw_random_free(struct cw_random *random) {
    free(random->state);
    random->state = NULL;
}

double cw_random_normal(struct cw_random *random) {
    gsl_rng generator = generator_of(random);
    return gsl_ran_gaussian_ziggurat(&generator, 1);
}

double cw_random_even(struct cw_random *random, double low, double high) {
    gsl_rng generator = generator_of(random);
    return low + (high - low) * gsl_rng_uniform(&generator);
}

unsigned long cw_random_below(struct cw_random *random, unsigned long n) {
    gsl_rng generator = generator_of(random);
    return n >= 1 && n <= gsl_rng_max(&generator) ? gsl_rng_uniform_int(&generator, n) : 0;
}

struct cw_drift cw_drift_make(double sd, double time_s, struct cw_random *random) {
    return (struct cw_drift){sd, time_s, sd * cw_random_normal(random)};
}

double cw_drift_step(struct cw_drift *drift, double dt_s, struct cw_random *random) {
    double kept = exp(-dt_s / drift->time_s);
    drift->value = kept * drift->value +
                   drift->sd * sqrt(-expm1(-2 * dt_s / drift->time_s)) * cw_random_normal(random);
    return drift->value;
}

void cw_gust_series_fill(struct cw_gust_series *series, double sd, double time_s,
                         struct cw_random *random) {
    struct cw_drift drift = cw_drift_make(sd, time_s, random);
    for (size_t i = 0; i < series->n; i++) {
        series->value_ms[i] = drift.value;
        cw_drift_step(&drift, series->step_s, random);
    }
}

double cw_gust_series_at(double time_s, const void *state) {
    const struct cw_gust_series *series = state;
    double place = fmax(0, time_s / series->step_s);
    double last = (double)(series->n - 1);
    if (place >= last) return series->value_ms[series->n - 1];
    size_t i = (size_t)place;
    double part = place - (double)i;
    return (1 - part) * series->value_ms[i] + part * series->value_ms[i + 1];
}
