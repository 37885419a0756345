#include "fit/smooth.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/markov.h"

/* The height's offset, which the joint fit takes as an unknown, is one more state here. */
enum { OFFSET = CW_STATES, N };

struct seen {
    double by_state[N], gain[N], innovation, variance;
};

struct point {
    double mean[N], covariance[N][N];        /* before this point's observations */
    double transition[CW_STATES][CW_STATES]; /* to the next point; the offset stays as it is */
    double broken[CW_BREAKS][CW_STATES]; /* what a metre of either break on the way there does */
    struct seen seen[CW_SEEN_KINDS];
    int n_seen;
};

static void learn(double mean[N], double p[N][N], const struct cw_markov_observation *observation,
                  int offset, struct seen *seen) {
    double *z = seen->by_state, pz[N];
    memcpy(z, observation->by_state, sizeof observation->by_state);
    z[OFFSET] = offset;
    seen->variance = observation->variance;
    seen->innovation = observation->rest;
    for (int i = 0; i < N; i++) {
        pz[i] = 0;
        for (int j = 0; j < N; j++) pz[i] += p[i][j] * z[j];
        seen->innovation -= z[i] * mean[i];
    }
    for (int i = 0; i < N; i++) seen->variance += z[i] * pz[i];
    for (int i = 0; i < N; i++) {
        seen->gain[i] = pz[i] / seen->variance;
        mean[i] += seen->gain[i] * seen->innovation;
    }
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) p[i][j] -= seen->gain[i] * pz[j];
}

/* to += T from, of rows; the offset's stays as it is. */
static void times(const double t[CW_STATES][CW_STATES], const double from[N][N], double to[N][N]) {
#define CW_ADD(row, column)                                                                        \
    for (int c = 0; c < N; c++)                                                                    \
        to[CW_STATE_##row][c] += t[CW_STATE_##row][CW_STATE_##column] * from[CW_STATE_##column][c];
    CW_MARKOV_TERMS(CW_ADD)
#undef CW_ADD
    for (int c = 0; c < N; c++) to[OFFSET][c] += from[OFFSET][c];
}

/* to += T' from. */
static void times_back(const double t[CW_STATES][CW_STATES], const double from[N][N],
                       double to[N][N]) {
#define CW_ADD(row, column)                                                                        \
    for (int c = 0; c < N; c++)                                                                    \
        to[CW_STATE_##column][c] += t[CW_STATE_##row][CW_STATE_##column] * from[CW_STATE_##row][c];
    CW_MARKOV_TERMS(CW_ADD)
#undef CW_ADD
    for (int c = 0; c < N; c++) to[OFFSET][c] += from[OFFSET][c];
}

static void turn(const double from[N][N], double to[N][N]) {
    for (int a = 0; a < N; a++)
        for (int b = 0; b < N; b++) to[b][a] = from[a][b];
}

static void go_on(double mean[N], double p[N][N], const struct cw_linear *l, size_t i,
                  const struct cw_markov_step *step) {
    double next[N] = {[OFFSET] = mean[OFFSET]}, tp[N][N] = {{0}}, turned[N][N];
#define CW_ADD(row, column)                                                                        \
    next[CW_STATE_##row] +=                                                                        \
        step->transition[CW_STATE_##row][CW_STATE_##column] * mean[CW_STATE_##column];
    CW_MARKOV_TERMS(CW_ADD)
#undef CW_ADD
    for (int r = 0; r < CW_FORCED; r++)
        next[r] += step->here[r] * l->residual[i] + step->there[r] * l->residual[i + 1];
    memcpy(mean, next, sizeof next);
    times(step->transition, p, tp);
    turn(tp, turned);
    memset(tp, 0, sizeof tp);
    for (int r = 0; r < CW_STATES; r++) memcpy(tp[r], step->noise[r], CW_STATES * sizeof **tp);
    times(step->transition, turned, tp);
    turn(tp, p);
}

static void forwards(const struct cw_linear *linear, const struct cw_noise *noise,
                     double offset_sd_m, double shift_sd_m, struct point *points) {
    double mean[N] = {[CW_STATE_ENERGY] = linear->residual[0]}, p[N][N] = {{0}};
    double start[CW_STATES][CW_STATES], shift = shift_sd_m * shift_sd_m;
    cw_markov_start(linear, noise, start);
    for (int i = 0; i < CW_STATES; i++) memcpy(p[i], start[i], sizeof start[i]);
    p[CW_STATE_SHIFT][CW_STATE_SHIFT] = shift;
    struct cw_markov_paces paces;
    cw_markov_paces_begin(&paces, noise, linear->lag_s);
    double late = linear->start_slope - linear->felt_slope[0];
    p[CW_STATE_LATE][CW_STATE_SHIFT] = p[CW_STATE_SHIFT][CW_STATE_LATE] = late * shift;
    p[CW_STATE_LATE][CW_STATE_LATE] += late * late * shift;
    p[CW_STATE_ENERGY][CW_STATE_ENERGY] = 100; /* a run's start is known to some metres of height */
    p[OFFSET][OFFSET] = offset_sd_m * offset_sd_m;
    for (size_t i = 0; i < linear->n; i++) {
        struct point *point = &points[i];
        memcpy(point->mean, mean, sizeof mean);
        memcpy(point->covariance, p, sizeof p);
        point->n_seen = 0;
        for (enum cw_kind kind = 0; kind < CW_SEEN_KINDS; kind++) {
            struct cw_markov_observation observation;
            if (cw_markov_observation_make(linear, i, kind, noise, &observation))
                learn(mean, p, &observation, kind == CW_SEEN_HEIGHT, &point->seen[point->n_seen++]);
        }
        if (i + 1 == linear->n) break;
        struct cw_markov_step step;
        cw_markov_step_make(linear, i, &paces, &step);
        memset(point->broken, 0, sizeof point->broken);
        memcpy(point->broken[CW_BREAK_LOSS], step.loss, sizeof step.loss);
        point->broken[CW_BREAK_JUMP][CW_STATE_DRIFT] = 1;
        point->broken[CW_BREAK_JUMP][CW_STATE_LATE] = step.felt_there[CW_STATE_LATE];
        memcpy(point->transition, step.transition, sizeof step.transition);
        go_on(mean, p, linear, i, &step);
    }
}

/* What later observations say of the state, on the way backwards: by how much of its covariance it
 * is to move, and the covariance of that. */
struct later {
    double r[N], of_r[N][N];
};

static void step_back(struct later *later, const double t[CW_STATES][CW_STATES]) {
    double r[N] = {[OFFSET] = later->r[OFFSET]}, tn[N][N] = {{0}}, turned[N][N];
#define CW_ADD(row, column)                                                                        \
    r[CW_STATE_##column] += t[CW_STATE_##row][CW_STATE_##column] * later->r[CW_STATE_##row];
    CW_MARKOV_TERMS(CW_ADD)
#undef CW_ADD
    memcpy(later->r, r, sizeof r);
    turn(later->of_r, turned);
    times_back(t, turned, tn);
    turn(tn, turned);
    memset(later->of_r, 0, sizeof later->of_r);
    times_back(t, turned, later->of_r);
}

/* r <- Z'v/F + (I - K Z)'r, and its covariance with it. */
static void take_in(struct later *later, const struct seen *seen) {
    double along = seen->innovation / seen->variance, kn[N] = {0}, knk = 0;
    for (int c = 0; c < N; c++) along -= seen->gain[c] * later->r[c];
    for (int c = 0; c < N; c++) later->r[c] += seen->by_state[c] * along;
    for (int a = 0; a < N; a++)
        for (int b = 0; b < N; b++) kn[a] += later->of_r[a][b] * seen->gain[b];
    for (int a = 0; a < N; a++) knk += seen->gain[a] * kn[a];
    for (int a = 0; a < N; a++)
        for (int b = 0; b < N; b++)
            later->of_r[a][b] +=
                seen->by_state[a] * seen->by_state[b] * (1 / seen->variance + knk) -
                seen->by_state[a] * kn[b] - kn[a] * seen->by_state[b];
}

static struct cw_told_break tell_break(const struct later *later, const double broken[CW_STATES]) {
    struct cw_told_break told = {0, 0};
    for (int a = 0; a < CW_STATES; a++) {
        if (broken[a] == 0) continue;
        told.pull += broken[a] * later->r[a];
        for (int b = 0; b < CW_STATES; b++)
            told.precision += broken[a] * later->of_r[a][b] * broken[b];
    }
    return told;
}

/* Visits the points from the last to the first, with what later observations say of each: to told,
 * if not NULL, goes what they say of breaks on the way to the next point; data's basis motion, if
 * not NULL, is moved. */
static void backwards(const struct cw_linear *linear, const struct point *points,
                      struct cw_told_break (*told)[CW_BREAKS], struct cw_run_data *data,
                      double *gust) {
    struct later later = {{0}, {{0}}};
    for (size_t i = linear->n; i-- > 0;) {
        const struct point *point = &points[i];
        if (i + 1 < linear->n) {
            for (int kind = 0; told && kind < CW_BREAKS; kind++)
                told[i][kind] = tell_break(&later, point->broken[kind]);
            step_back(&later, point->transition);
        }
        for (int k = point->n_seen; k-- > 0;) take_in(&later, &point->seen[k]);
        if (!data) continue;
        double smooth[N];
        for (int a = 0; a < N; a++) {
            smooth[a] = point->mean[a];
            for (int b = 0; b < N; b++) smooth[a] += point->covariance[a][b] * later.r[b];
        }
        if (gust) gust[i] = smooth[CW_STATE_GUST];
        double moved = smooth[CW_STATE_SHIFT];
        data->s_m[i] += moved;
        data->speed_ms[i] += linear->gain[i] * (smooth[CW_STATE_ENERGY] - linear->residual[i] -
                                                linear->slope[i] * moved);
        data->speed_ms[i] = fmax(data->speed_ms[i], 0.1);
    }
}

static enum cw_status smooth(const struct cw_linear *linear, const struct cw_noise *noise,
                             double offset_sd_m, double shift_sd_m,
                             struct cw_told_break (*told)[CW_BREAKS], struct cw_run_data *data,
                             double *gust, struct cw_error *error) {
    struct point *points = malloc(linear->n * sizeof *points);
    if (!points) return cw_error_memory(error);
    forwards(linear, noise, offset_sd_m, shift_sd_m, points);
    backwards(linear, points, told, data, gust);
    free(points);
    return CW_OK;
}

enum cw_status cw_smooth_motion(const struct cw_linear *linear, const struct cw_noise *noise,
                                double offset_sd_m, double shift_sd_m, struct cw_run_data *data,
                                double *gust, struct cw_error *error) {
    return smooth(linear, noise, offset_sd_m, shift_sd_m, NULL, data, gust, error);
}

enum cw_status cw_smooth_breaks(const struct cw_linear *linear, const struct cw_noise *noise,
                                double offset_sd_m, double shift_sd_m,
                                struct cw_told_break (*told)[CW_BREAKS], struct cw_error *error) {
    return smooth(linear, noise, offset_sd_m, shift_sd_m, told, NULL, NULL, error);
}
