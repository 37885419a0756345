#include "motion/smoother.h"

#include <math.h>
#include <stdlib.h>

#include "stats/simplex.h"

/* A symmetric 3 x 3 matrix. */
struct sym {
    double m00, m01, m02, m11, m12, m22;
};

/* One sample's part of the filter's pass, kept for the way back. */
struct step {
    double x[2][3];  /* predicted state */
    struct sym p;    /* predicted covariance */
    double error[2]; /* innovation */
    double variance; /* of the innovation; 0: nothing was observed here */
};

/* Before the first observation: a cyclist's speed and acceleration, loosely. */
#define START_RATE_VARIANCE 400.0
#define START_ACCELERATION_VARIANCE 4.0

#define STRETCH 4096 /* samples whose steps are kept at a time */

static void predict_state(double x[3], double dt) {
    x[0] += dt * (x[1] + 0.5 * dt * x[2]);
    x[1] += dt * x[2];
}

/* P <- F P F' + Q for white jerk of density q over dt. */
static void predict_covariance(struct sym *p, double dt, double q) {
    double half = 0.5 * dt * dt, dt3 = dt * dt * dt;
    double a00 = p->m00 + dt * p->m01 + half * p->m02;
    double a01 = p->m01 + dt * p->m11 + half * p->m12;
    double a02 = p->m02 + dt * p->m12 + half * p->m22;
    double a11 = p->m11 + dt * p->m12;
    double a12 = p->m12 + dt * p->m22;
    p->m00 = a00 + dt * a01 + half * a02 + q * dt3 * dt * dt / 20;
    p->m01 = a01 + dt * a02 + q * dt3 * dt / 8;
    p->m02 = a02 + q * dt3 / 6;
    p->m11 = a11 + dt * a12 + q * dt3 / 3;
    p->m12 = a12 + q * half;
    p->m22 += q * dt;
}

/* The acceleration has changed at the sample before, dt ago, by an unknown of this variance. */
static void allow_change(struct sym *p, double dt, double variance) {
    double half = 0.5 * dt * dt;
    p->m00 += half * half * variance;
    p->m01 += half * dt * variance;
    p->m02 += half * variance;
    p->m11 += dt * dt * variance;
    p->m12 += dt * variance;
    p->m22 += variance;
}

/* Row (and column) `row` of a symmetric matrix. */
static void row_of(const struct sym *m, int row, double v[3]) {
    v[0] = row == 0 ? m->m00 : m->m01;
    v[1] = row == 0 ? m->m01 : m->m11;
    v[2] = row == 0 ? m->m02 : m->m12;
}

static void multiply(const struct sym *m, const double v[3], double out[3]) {
    out[0] = m->m00 * v[0] + m->m01 * v[1] + m->m02 * v[2];
    out[1] = m->m01 * v[0] + m->m11 * v[1] + m->m12 * v[2];
    out[2] = m->m02 * v[0] + m->m12 * v[1] + m->m22 * v[2];
}

static void restart_state(const struct cw_smoother_track *track, size_t i, double r, double x[2][3],
                          struct sym *p) {
    bool value = track->kind == CW_OBSERVED_VALUE;
    for (size_t c = 0; c < track->channels; c++) {
        double seen = track->observed[c][i];
        x[c][0] = value && isfinite(seen) ? seen : 0.0;
        x[c][1] = !value && isfinite(seen) ? seen : 0.0;
        x[c][2] = 0.0;
    }
    *p = (struct sym){0};
    p->m00 = value ? 100.0 * r + 1.0 : 0.0;
    p->m11 = START_RATE_VARIANCE;
    p->m22 = START_ACCELERATION_VARIANCE;
}

/* Whether what is seen at sample i is what happened (the brakes are pulled, or let go) and no
 * outlier: the next observation is nearer to it than to what is predicted without it. A speed that
 * is wrong stands alone. */
static bool is_change(const struct cw_smoother_track *track, size_t i, size_t last,
                      const struct step *now) {
    if (track->kind != CW_OBSERVED_RATE) return false;
    size_t next = i + 1;
    while (next < last && !track->restart[next] && !isfinite(track->observed[0][next])) next++;
    if (next >= last || track->restart[next]) return false;
    double without = 0.0, with = 0.0;
    for (size_t c = 0; c < track->channels; c++) {
        double x[3] = {now->x[c][0], now->x[c][1], now->x[c][2]};
        predict_state(x, track->time_s[next] - track->time_s[i]);
        double seen = track->observed[c][next];
        without += (seen - x[track->kind]) * (seen - x[track->kind]);
        with += (seen - track->observed[c][i]) * (seen - track->observed[c][i]);
    }
    return with < without;
}

/* Where the filter is. All zero: at a start. */
struct filtered {
    double x[2][3];
    struct sym p;
    bool begun, seeing; /* there was a sample; and an observation since the last restart */
    bool changes;       /* accelerations may change of a sudden (is_change) */
};

/* Filters on over samples [first, last) of those before end. steps: NULL, or where to keep what the
 * smoother needs, one a sample. Returns minus twice the log likelihood. The state starts anew at
 * the start, at a restart, and at the first observation after one. */
static double filter(const struct cw_smoother_track *track, size_t first, size_t last, size_t end,
                     const struct cw_smoother_noise *noise, struct filtered *state,
                     struct step *steps) {
    const double r = noise->observation_sd * noise->observation_sd;
    const double limit = !track->robust ? INFINITY : track->channels == 2 ? 14.0 : 9.0;
    const int row = (int)track->kind;
    const double channels = (double)track->channels;
    double deviance = 0.0;
    double(*x)[3] = state->x;
    struct sym p = state->p;
    bool waiting = !state->seeing; /* for the first observation since the restart */
    for (size_t i = first; i < last; i++) {
        bool seen = isfinite(track->observed[0][i]);
        if ((i == first && !state->begun) || track->restart[i]) {
            waiting = true;
        } else if (!waiting) {
            double dt = track->time_s[i] - track->time_s[i - 1];
            for (size_t c = 0; c < track->channels; c++) predict_state(x[c], dt);
            predict_covariance(&p, dt, noise->jerk_density);
        }
        bool begins = waiting && seen;
        if (begins || waiting) restart_state(track, i, r, x, &p);
        if (begins) waiting = false;
        struct step now = {.p = p};
        for (size_t c = 0; c < track->channels; c++)
            for (int k = 0; k < 3; k++) now.x[c][k] = x[c][k];
        if (seen) {
            double column[3], square = 0.0;
            row_of(&p, row, column);
            double variance = column[row] + r;
            for (size_t c = 0; c < track->channels; c++) {
                now.error[c] = track->observed[c][i] - x[c][row];
                square += now.error[c] * now.error[c];
            }
            if (square > limit * variance) {
                if (state->changes && !begins && is_change(track, i, end, &now)) {
                    double dt = track->time_s[i] - track->time_s[i - 1];
                    allow_change(&p, dt, (square / limit - variance) / (dt * dt));
                    row_of(&p, row, column);
                    now.p = p;
                }
                variance = square / limit;
            }
            now.variance = variance;
            if (!begins) deviance += channels * log(variance) + square / variance;
            for (size_t c = 0; c < track->channels; c++)
                for (int k = 0; k < 3; k++) x[c][k] += column[k] * now.error[c] / variance;
            p.m00 -= column[0] * column[0] / variance;
            p.m01 -= column[0] * column[1] / variance;
            p.m02 -= column[0] * column[2] / variance;
            p.m11 -= column[1] * column[1] / variance;
            p.m12 -= column[1] * column[2] / variance;
            p.m22 -= column[2] * column[2] / variance;
        }
        if (steps) steps[i - first] = now;
    }
    state->p = p;
    state->seeing = !waiting;
    state->begun = true;
    return deviance;
}

/* u <- F' u. */
static void carry_back_vector(double u[3], double dt) {
    u[2] += dt * u[1] + 0.5 * dt * dt * u[0];
    u[1] += dt * u[0];
}

/* N <- F' N F. */
static void carry_back_matrix(struct sym *n, double dt) {
    double half = 0.5 * dt * dt;
    double a01 = n->m01 + dt * n->m00;
    double a02 = n->m02 + dt * n->m01 + half * n->m00;
    double a11 = n->m11 + dt * n->m01;
    double a12 = n->m12 + dt * n->m11 + half * n->m01;
    double a22 = n->m22 + dt * n->m12 + half * n->m02;
    n->m22 = a22 + dt * a12 + half * a02;
    n->m12 = a12 + dt * a02;
    n->m11 = a11 + dt * a01;
    n->m02 = a02;
    n->m01 = a01;
}

/* The backward recursion's step across one observation: u and N of the samples after it become
 * those of the samples from it on. */
static void take_observation(const struct step *step, int row, size_t channels, double u[2][3],
                             struct sym *n) {
    double gain[3], weighted[3];
    row_of(&step->p, row, gain);
    for (int k = 0; k < 3; k++) gain[k] /= step->variance;
    for (size_t c = 0; c < channels; c++)
        u[c][row] += step->error[c] / step->variance -
                     (gain[0] * u[c][0] + gain[1] * u[c][1] + gain[2] * u[c][2]);
    multiply(n, gain, weighted);
    double corner = gain[0] * weighted[0] + gain[1] * weighted[1] + gain[2] * weighted[2] +
                    1.0 / step->variance;
    if (row == 0) {
        n->m00 += corner - 2 * weighted[0];
        n->m01 -= weighted[1];
        n->m02 -= weighted[2];
    } else {
        n->m11 += corner - 2 * weighted[1];
        n->m01 -= weighted[0];
        n->m12 -= weighted[2];
    }
}

static void set_missing(const struct cw_smoother_track *track,
                        const struct cw_smoother_result *result, size_t i) {
    for (size_t c = 0; c < track->channels; c++) {
        if (result->value[c]) result->value[c][i] = NAN;
        result->rate[c][i] = result->acceleration[c][i] = NAN;
    }
    if (result->rate_sd) result->rate_sd[i] = NAN;
}

enum cw_status cw_smoother_run(const struct cw_smoother_track *track,
                               const struct cw_smoother_noise *noise,
                               const struct cw_smoother_result *result, struct cw_error *error) {
    const int row = (int)track->kind;
    if (track->n == 0) return CW_OK;
    /* Only one stretch's steps at a time: the filter's pass is made twice, once for where it is at
     * the start of each. */
    size_t stretches = (track->n + STRETCH - 1) / STRETCH;
    struct step *steps = malloc(STRETCH * sizeof *steps);
    struct filtered *starts = calloc(stretches + 1, sizeof *starts);
    if (!steps || !starts) {
        free(steps);
        free(starts);
        return cw_error_memory(error);
    }
    starts[0].changes = true;
    for (size_t s = 0; s + 1 < stretches; s++) {
        starts[s + 1] = starts[s];
        filter(track, s * STRETCH, (s + 1) * STRETCH, track->n, noise, &starts[s + 1], NULL);
    }

    double u[2][3] = {{0}};
    struct sym n = {0};
    for (size_t i = track->n; i-- > 0;) {
        size_t s = i / STRETCH;
        if (i + 1 == track->n || (i + 1) % STRETCH == 0)
            filter(track, s * STRETCH, i + 1, track->n, noise, &starts[s], steps);
        const struct step *step = &steps[i % STRETCH];
        bool part_ends = i + 1 == track->n || track->restart[i + 1];
        if (part_ends) {
            u[0][0] = u[0][1] = u[0][2] = u[1][0] = u[1][1] = u[1][2] = 0.0;
            n = (struct sym){0};
        } else {
            double dt = track->time_s[i + 1] - track->time_s[i];
            for (size_t c = 0; c < track->channels; c++) carry_back_vector(u[c], dt);
            carry_back_matrix(&n, dt);
        }
        if (step->variance > 0.0) take_observation(step, row, track->channels, u, &n);
        for (size_t c = 0; c < track->channels; c++) {
            double shift[3];
            multiply(&step->p, u[c], shift);
            if (result->value[c]) result->value[c][i] = step->x[c][0] + shift[0];
            result->rate[c][i] = step->x[c][1] + shift[1];
            result->acceleration[c][i] = step->x[c][2] + shift[2];
        }
        if (result->rate_sd) {
            double rate_row[3], weighted[3];
            row_of(&step->p, 1, rate_row);
            multiply(&n, rate_row, weighted);
            double variance = step->p.m11 - (rate_row[0] * weighted[0] + rate_row[1] * weighted[1] +
                                             rate_row[2] * weighted[2]);
            result->rate_sd[i] = variance > 0.0 ? sqrt(variance) : 0.0;
        }
    }
    /* What lies before a part's first observation was never reached by the filter. */
    bool begun = false;
    for (size_t i = 0; i < track->n; i++) {
        if (track->restart[i]) begun = false;
        if (isfinite(track->observed[0][i])) begun = true;
        if (!begun) set_missing(track, result, i);
    }
    free(steps);
    free(starts);
    return CW_OK;
}

/* Maximum likelihood by the simplex method over the logarithms of both deviations. */

#define BLOCK 500
#define MOST_BLOCKS 6
#define LOW_JERK 0.01
#define HIGH_JERK 5.0

struct search {
    const struct cw_smoother_track *track;
    double low[2], high[2]; /* logarithms of observation_sd and sqrt(jerk_density) */
};

static struct cw_smoother_noise noise_at(const struct search *search, const double at[2]) {
    double deviation[2];
    for (size_t k = 0; k < 2; k++)
        deviation[k] = exp(fmin(fmax(at[k], search->low[k]), search->high[k]));
    return (struct cw_smoother_noise){deviation[0], deviation[1] * deviation[1]};
}

static double deviance_of(const struct cw_smoother_track *track, size_t first, size_t last,
                          const struct cw_smoother_noise *noise) {
    struct filtered state = {.begun = false};
    return filter(track, first, last, last, noise, &state, NULL);
}

static double deviance_at(const double *at, const void *state) {
    const struct search *search = state;
    const struct cw_smoother_track *track = search->track;
    struct cw_smoother_noise noise = noise_at(search, at);
    double deviance = 0.0;
    if (track->n <= BLOCK * MOST_BLOCKS) {
        deviance = deviance_of(track, 0, track->n, &noise);
    } else {
        size_t stride = (track->n - BLOCK) / (MOST_BLOCKS - 1);
        for (size_t b = 0; b < MOST_BLOCKS; b++)
            deviance += deviance_of(track, b * stride, b * stride + BLOCK, &noise);
    }
    /* A slope outside the bounds leads the simplex back inside. */
    for (size_t k = 0; k < 2; k++)
        deviance +=
            100.0 * (fmax(0.0, at[k] - search->high[k]) + fmax(0.0, search->low[k] - at[k]));
    return isfinite(deviance) ? deviance : 1e300;
}

enum cw_status cw_smoother_estimate(const struct cw_smoother_track *track, double low_sd,
                                    double high_sd, struct cw_smoother_noise *noise,
                                    struct cw_error *error) {
    size_t seen = 0;
    for (size_t i = 0; i < track->n; i++) seen += isfinite(track->observed[0][i]) ? 1 : 0;
    if (seen < 10)
        return cw_error_set(error, CW_E_DATA, NULL, 0, "fewer than 10 samples to smooth");
    struct search search = {track, {log(low_sd), log(LOW_JERK)}, {log(high_sd), log(HIGH_JERK)}};
    double at[2] = {0.5 * (search.low[0] + search.high[0]), log(0.3)};
    cw_simplex_minimise(deviance_at, &search, 2, at, 1.0, 0.03, 40);
    *noise = noise_at(&search, at);
    return CW_OK;
}
