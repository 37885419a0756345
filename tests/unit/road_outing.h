/* A made-up outing with known truth, small and apart from the library's own physics: a hill road
 * ridden again and again with ordinary riding around it. Used by the road room's tests. */
#ifndef ROAD_OUTING_H
#define ROAD_OUTING_H

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/recording.h"

struct made_rng {
    uint64_t state;
};

static inline double made_uniform(struct made_rng *rng) { /* xorshift64* (Marsaglia, Vigna) */
    rng->state ^= rng->state >> 12;
    rng->state ^= rng->state << 25;
    rng->state ^= rng->state >> 27;
    return (double)((rng->state * UINT64_C(2685821657736338717)) >> 11) / 9007199254740992.0;
}

static inline double made_between(struct made_rng *rng, double low, double high) {
    return low + (high - low) * made_uniform(rng);
}

static inline double made_normal(struct made_rng *rng) {
    double u = made_uniform(rng) + 1e-300, v = made_uniform(rng);
    return sqrt(-2.0 * log(u)) * cos(6.283185307179586 * v);
}

struct made_options {
    uint64_t seed;
    int runs;
    bool cadence, speed, distance, positions;
    double elevation_step_m, elevation_noise_m, drift_m; /* drift: sd, over some 200 s */
    double speed_noise_ms, position_noise_m, wander_m;
    double gust_ms;
    double least_dt_s, most_dt_s; /* time between samples */
    double grade;                 /* of the hill, positive number */
    double rise;                  /* slope of the road 100 m beyond its foot */
    bool run_out;                 /* runs roll out to standstill instead of braking */
    bool back_at_once;            /* no waiting at the bottom: turns and rides back up */
    double ordinary_s;            /* ordinary riding before and after */
    double cadence_hold_s;
    double dab_at_s; /* into a run: the brake is touched, 1.8 m/s2 for 2 s; 0: never */
};

static inline struct made_options made_options_default(uint64_t seed) {
    struct made_options o = {.seed = seed,
                             .runs = 8,
                             .cadence = true,
                             .speed = true,
                             .distance = true,
                             .positions = true,
                             .elevation_step_m = 0.2,
                             .elevation_noise_m = 0.05,
                             .drift_m = 0.3,
                             .speed_noise_ms = 0.1,
                             .position_noise_m = 0.2,
                             .wander_m = 2.0,
                             .gust_ms = 0.2,
                             .least_dt_s = 1.0,
                             .most_dt_s = 1.0,
                             .grade = 0.05,
                             .ordinary_s = 600.0,
                             .cadence_hold_s = 1.5};
    return o;
}

#define MADE_MOST_RUNS 32
struct made_outing {
    struct cw_recording recording;
    int n;
    double start_s[MADE_MOST_RUNS], end_s[MADE_MOST_RUNS]; /* true coasts */
    double *true_speed_ms, *true_s_m;                      /* a sample; s along the line */
    double *true_east_m, *true_north_m, *true_height_m;
};

/* The world: one line. The hill falls from s = 0 to 900; before it lies rolling ground, after it a
 * flat. It bends, and there is a rise in the middle of the descent. */
static inline double made_height(double s, double grade, double rise) {
    if (s < 0) return 60.0 + 4.0 * sin(s / 150.0) * (s < -300 ? 1.0 : -s / 300.0);
    double end = 900.0;
    double x = s < end ? s : end;
    double dip = s < end ? 1.2 * sin(6.283185307179586 * s / 300.0) : 0.0;
    return 60.0 - grade * x + (s > 1000.0 ? rise * (s - 1000.0) : 0.0) +
           dip * grade / 0.05 * (s < 200 ? s / 200.0 : 1.0) *
               (s > 700 && s < end ? (end - s) / 200.0 : 1.0);
}
static inline double made_heading(double s) {
    return 0.7 + 0.6 * sin(s / 180.0) + 0.5 * sin(s / 67.0);
}

#define MADE_LOW (-6000)
#define MADE_HIGH 3000
/* Positions along the line, integrated once by metres. */
static inline void made_line(double **east, double **north) {
    size_t n = MADE_HIGH - MADE_LOW + 1;
    *east = malloc(n * sizeof **east);
    *north = malloc(n * sizeof **north);
    double e = 0, q = 0;
    for (size_t i = 0; i < n; i++) {
        (*east)[i] = e;
        (*north)[i] = q;
        double h = made_heading((double)i + MADE_LOW + 0.5);
        e += sin(h);
        q += cos(h);
    }
}
static inline double made_on_line(const double *line, double s) {
    double x = s - MADE_LOW;
    size_t i = (size_t)x;
    return line[i] + (x - (double)i) * (line[i + 1] - line[i]);
}

struct made_rider {
    double t, s, v, direction, wind;
    double power, brake; /* W; m/s2 */
    bool held;           /* stands still */
};

struct made_writer {
    const struct made_options *o;
    struct made_rng rng;
    struct made_outing *out;
    double *east, *north;
    double next_s, distance, odometer;
    double drift, wander_e, wander_n, last_t;
    double pedal_until; /* sensor's held value ends here */
    double last_cadence;
    size_t capacity;
};

static inline void made_write(struct made_writer *w, const struct made_rider *r) {
    struct made_outing *out = w->out;
    struct cw_samples *samples = &out->recording.samples;
    if (samples->n == w->capacity) {
        w->capacity = w->capacity ? 2 * w->capacity : 4096;
        double **columns[] = {
            &samples->time_s,      &samples->latitude_deg, &samples->longitude_deg,
            &samples->elevation_m, &samples->distance_m,   &samples->speed_ms,
            &samples->cadence_rpm, &samples->power_w,      &samples->temperature_c,
            &out->true_speed_ms,   &out->true_s_m,         &out->true_east_m,
            &out->true_north_m,    &out->true_height_m};
        for (size_t c = 0; c < sizeof columns / sizeof *columns; c++)
            *columns[c] = realloc(*columns[c], w->capacity * sizeof(double));
        samples->line = realloc(samples->line, w->capacity * sizeof *samples->line);
        samples->break_before =
            realloc(samples->break_before, w->capacity * sizeof *samples->break_before);
        samples->capacity = w->capacity;
    }
    const struct made_options *o = w->o;
    size_t i = samples->n++;
    double dt = r->t - w->last_t;
    w->last_t = r->t;
    double keep = exp(-dt / 200.0), keep_w = exp(-dt / 60.0);
    w->drift = keep * w->drift + o->drift_m * sqrt(1 - keep * keep) * made_normal(&w->rng);
    w->wander_e =
        keep_w * w->wander_e + o->wander_m * sqrt(1 - keep_w * keep_w) * made_normal(&w->rng);
    w->wander_n =
        keep_w * w->wander_n + o->wander_m * sqrt(1 - keep_w * keep_w) * made_normal(&w->rng);
    double e = made_on_line(w->east, r->s), q = made_on_line(w->north, r->s);
    double h = made_height(r->s, o->grade, o->rise);
    out->true_speed_ms[i] = r->v;
    out->true_s_m[i] = r->s;
    out->true_east_m[i] = e;
    out->true_north_m[i] = q;
    out->true_height_m[i] = h;
    samples->time_s[i] = 1.7e9 + r->t;
    /* 47 N 8 E: metres per degree from M and N at 47 degrees. */
    samples->latitude_deg[i] = samples->longitude_deg[i] = NAN;
    if (o->positions) {
        samples->latitude_deg[i] =
            47.0 + (q + w->wander_n + o->position_noise_m * made_normal(&w->rng)) / 111170.841503;
        samples->longitude_deg[i] =
            8.0 + (e + w->wander_e + o->position_noise_m * made_normal(&w->rng)) / 76055.998301;
    }
    double seen = h + w->drift + o->elevation_noise_m * made_normal(&w->rng);
    samples->elevation_m[i] =
        o->elevation_step_m > 0 ? o->elevation_step_m * round(seen / o->elevation_step_m) : seen;
    samples->distance_m[i] = o->distance ? w->odometer : NAN;
    double v = r->v < 0.3 ? 0.0 : r->v + o->speed_noise_ms * made_normal(&w->rng);
    samples->speed_ms[i] = o->speed ? (v > 0 ? v : 0) : NAN;
    bool turning = r->power > 0 && !r->held;
    if (turning) {
        w->pedal_until = r->t + o->cadence_hold_s;
        w->last_cadence = round(made_between(&w->rng, 70, 90));
    }
    samples->cadence_rpm[i] = o->cadence ? (r->t <= w->pedal_until ? w->last_cadence : 0.0) : NAN;
    samples->power_w[i] = samples->temperature_c[i] = NAN;
    samples->line[i] = (int)i + 1;
    samples->break_before[i] = false;
}

/* One step of 0.1 s, and a sample when it is due. */
static inline void made_step(struct made_writer *w, struct made_rider *r) {
    const double dt = 0.1, g = 9.807, m = 83.0;
    double keep = exp(-dt / 10.0);
    r->wind = keep * r->wind + w->o->gust_ms * sqrt(1 - keep * keep) * made_normal(&w->rng);
    if (r->held) {
        r->v = 0;
    } else {
        double slope = r->direction * (made_height(r->s + 0.5, w->o->grade, w->o->rise) -
                                       made_height(r->s - 0.5, w->o->grade, w->o->rise));
        double air = r->v + r->wind;
        double a = -g * slope / sqrt(1 + slope * slope) - 0.005 * g -
                   0.5 * 1.2 * 0.35 * air * fabs(air) / m - (0.091 + 0.0087 * r->v) / m;
        a += r->power / fmax(r->v, 1.5) / m - r->brake;
        double before = r->v;
        r->v = fmax(0.0, r->v + a * dt);
        double way = 0.5 * (before + r->v) * dt;
        r->s += r->direction * way;
        w->odometer += way;
    }
    r->t += dt;
    if (r->t + 1e-6 >= w->next_s) {
        made_write(w, r);
        w->next_s = r->t + round(made_between(&w->rng, w->o->least_dt_s, w->o->most_dt_s));
    }
}

static inline void made_wait(struct made_writer *w, struct made_rider *r, double seconds) {
    r->held = true;
    r->power = r->brake = 0;
    for (double end = r->t + seconds; r->t < end;) made_step(w, r);
    r->held = false;
}

static inline void made_stop(struct made_writer *w, struct made_rider *r, double brake) {
    r->power = 0;
    r->brake = brake;
    while (r->v > 0.05) made_step(w, r);
    r->brake = 0;
    r->held = true;
}

/* Pedals to s = to, with changing power and a few seconds of freewheeling now and then. */
static inline void made_ride(struct made_writer *w, struct made_rider *r, double to, double power) {
    r->held = false;
    r->direction = to > r->s ? 1 : -1;
    double change = 0, rest = 0;
    while (r->direction * (to - r->s) > 0) {
        if (r->t > change) {
            r->power = power * made_between(&w->rng, 0.8, 1.2);
            change = r->t + made_between(&w->rng, 5, 30);
            rest = made_uniform(&w->rng) < 0.15 ? r->t + made_between(&w->rng, 2, 5) : 0;
        }
        double keep = r->power;
        if (r->t < rest && r->v > 5) r->power = 0;
        r->brake = r->v > 12 ? 1.0 : 0;
        if (r->brake > 0) r->power = 0;
        made_step(w, r);
        r->power = keep;
    }
    made_stop(w, r, 1.5);
}

static inline struct made_outing made_outing_make(const struct made_options *options) {
    struct made_outing out;
    memset(&out, 0, sizeof out);
    struct made_writer w = {.o = options, .out = &out, .last_cadence = 0, .pedal_until = -1};
    w.rng.state = options->seed * UINT64_C(0x9E3779B97F4A7C15) + 1;
    for (int i = 0; i < 10; i++) made_uniform(&w.rng);
    made_line(&w.east, &w.north);
    struct made_rider r = {.s = -200, .direction = 1, .t = 0};
    double edge = -200 - options->ordinary_s * 3.0;
    if (options->ordinary_s > 0) {
        made_ride(&w, &r, edge, 180);
        made_wait(&w, &r, 20);
    }
    made_ride(&w, &r, 0, 180);
    for (int k = 0; k < options->runs; k++) {
        made_wait(&w, &r, made_between(&w.rng, 15, 90));
        r.direction = 1;
        r.held = false;
        double until = r.t + made_between(&w.rng, 3, 6);
        r.power = made_between(&w.rng, 150, 300);
        while (r.t < until) made_step(&w, &r);
        r.power = 0;
        out.start_s[out.n] = 1.7e9 + r.t;
        double end = made_between(&w.rng, 860, 960);
        double begun = r.t;
        while (r.v > 0.1 && r.s < 2900 && (options->run_out || r.s < end)) {
            double into = r.t - begun - options->dab_at_s;
            r.brake = options->dab_at_s > 0 && into > 0 && into < 2 ? 1.8 : 0;
            made_step(&w, &r);
        }
        out.end_s[out.n++] = 1.7e9 + r.t;
        made_stop(&w, &r, made_between(&w.rng, 1.5, 3.0));
        double wait_s = made_between(&w.rng, 3, 15);
        made_wait(&w, &r, options->back_at_once ? 1 : wait_s);
        if (!options->back_at_once && made_uniform(&w.rng) < 0.3) {
            made_ride(&w, &r, made_between(&w.rng, 300, 600), 220);
            made_wait(&w, &r, 15);
        }
        made_ride(&w, &r, 0, 220);
    }
    made_wait(&w, &r, 30);
    if (options->ordinary_s > 0) made_ride(&w, &r, edge, 180);
    made_wait(&w, &r, 10);
    free(w.east);
    free(w.north);
    out.recording.file = NULL;
    out.recording.has_position = options->positions;
    out.recording.has_elevation = true;
    out.recording.has_speed = options->speed;
    out.recording.has_distance = options->distance;
    out.recording.has_cadence = options->cadence;
    return out;
}

static inline void made_outing_free(struct made_outing *out) {
    struct cw_samples *s = &out->recording.samples;
    double *columns[] = {s->time_s,         s->latitude_deg,    s->longitude_deg, s->elevation_m,
                         s->distance_m,     s->speed_ms,        s->cadence_rpm,   s->power_w,
                         s->temperature_c,  out->true_speed_ms, out->true_s_m,    out->true_east_m,
                         out->true_north_m, out->true_height_m};
    for (size_t c = 0; c < sizeof columns / sizeof *columns; c++) free(columns[c]);
    free(s->line);
    free(s->break_before);
    memset(out, 0, sizeof *out);
}

/* Smooths the heights as an altimeter does, over a time; they come in steps of 0.2 m. */
static inline void made_smooth_heights(struct cw_recording *recording, double over_s) {
    struct cw_samples *samples = &recording->samples;
    double smooth = samples->elevation_m[0];
    for (size_t i = 1; i < samples->n; i++) {
        double part = 1 - exp(-(samples->time_s[i] - samples->time_s[i - 1]) / over_s);
        smooth += part * (samples->elevation_m[i] - smooth);
        samples->elevation_m[i] = round(smooth / 0.2) * 0.2;
    }
}

#endif
