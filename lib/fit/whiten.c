#include "fit/whiten.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/markov.h"

enum { STATES = CW_STATES };

struct cw_whitener {
    size_t capacity;       /* columns */
    double *state[STATES]; /* mean of each state in answer to each column */
    double *rows;          /* whitened rows waiting to be multiplied out */
    double p[STATES][STATES];
};

enum { BATCH = 4 }; /* rows multiplied out at once: each element of the product is fetched once */

struct cw_whitener *cw_whitener_alloc(size_t n_points, size_t n_nodes) {
    (void)n_points;
    struct cw_whitener *w = calloc(1, sizeof *w);
    if (!w) return NULL;
    w->capacity = n_nodes + CW_TAIL;
    double *block = malloc((STATES + BATCH) * w->capacity * sizeof *block);
    if (!block) {
        free(w);
        return NULL;
    }
    for (size_t k = 0; k < STATES; k++) w->state[k] = block + k * w->capacity;
    w->rows = block + STATES * w->capacity;
    return w;
}

void cw_whitener_free(struct cw_whitener *w) {
    if (!w) return;
    free(w->state[0]);
    free(w);
}

/* P <- T P T' + Q. */
static void covariance_predict(double p[STATES][STATES], const struct cw_markov_step *step) {
    double tp[STATES][STATES];
    for (int i = 0; i < STATES; i++)
        for (int j = 0; j < STATES; j++) {
            double sum = 0;
            for (int k = 0; k < STATES; k++) sum += step->transition[i][k] * p[k][j];
            tp[i][j] = sum;
        }
    for (int i = 0; i < STATES; i++)
        for (int j = i; j < STATES; j++) {
            double sum = step->noise[i][j];
            for (int k = 0; k < STATES; k++) sum += tp[i][k] * step->transition[j][k];
            p[i][j] = p[j][i] = sum;
        }
}

struct filter {
    struct cw_whitener *w;
    struct cw_normal *normal;
    size_t n_nodes, active; /* profile coefficients touched so far */
    size_t waiting;         /* rows not yet multiplied out */
};

static void multiply_out(struct filter *f) {
    if (!f->waiting) return;
    size_t n = f->n_nodes + CW_TAIL;
    double *rows = f->w->rows;
    for (size_t k = f->waiting; k < BATCH; k++) memset(rows + k * n, 0, n * sizeof *rows);
    const double *restrict r0 = rows, *restrict r1 = rows + n, *restrict r2 = rows + 2 * n,
                           *restrict r3 = rows + 3 * n;
    for (size_t i = 0; i < n; i++) {
        if (i == f->active) i = f->n_nodes; /* untouched coefficients are zero */
        double *restrict to = f->normal->product + i * n;
        double a = r0[i], b = r1[i], c = r2[i], d = r3[i];
        for (size_t j = i; j < f->active; j++)
            to[j] += a * r0[j] + b * r1[j] + c * r2[j] + d * r3[j];
        for (size_t j = i > f->n_nodes ? i : f->n_nodes; j < n; j++)
            to[j] += a * r0[j] + b * r1[j] + c * r2[j] + d * r3[j];
    }
    f->waiting = 0;
}

/* Marks the coefficients of nodes as touched; returns the first one's local index. */
static size_t touch(struct filter *f, const struct cw_nodes *nodes) {
    size_t local = nodes->first - f->normal->first_node;
    if (local + 4 > f->active) f->active = local + 4;
    return local;
}

/* Makes the innovations of one observation from row, and lets the states learn from them. A column
 * of an unknown comes out as minus what a unit of it adds to the innovation; the sum over the data
 * column and all unknowns' columns times their values is the innovation. */
static void observe(struct filter *f, const double z[STATES], double variance, double *row) {
    struct cw_whitener *w = f->w;
    double pz[STATES], innovation = variance;
    for (int i = 0; i < STATES; i++) {
        pz[i] = 0;
        for (int j = 0; j < STATES; j++) pz[i] += w->p[i][j] * z[j];
    }
    for (int i = 0; i < STATES; i++) innovation += z[i] * pz[i];
    double scale = 1 / sqrt(innovation), update[STATES];
    for (int i = 0; i < STATES; i++) update[i] = pz[i] / innovation;

    size_t n = f->n_nodes + CW_TAIL;
    const size_t from[2] = {0, f->n_nodes}, to[2] = {f->active, n};
    double *restrict x0 = w->state[0], *restrict x1 = w->state[1], *restrict x2 = w->state[2],
                     *restrict x3 = w->state[3], *restrict x4 = w->state[4];
    double *restrict v = row;
    for (int part = 0; part < 2; part++)
        for (size_t c = from[part]; c < to[part]; c++) {
            double e =
                v[c] - z[0] * x0[c] - z[1] * x1[c] - z[2] * x2[c] - z[3] * x3[c] - z[4] * x4[c];
            x0[c] += update[0] * e;
            x1[c] += update[1] * e;
            x2[c] += update[2] * e;
            x3[c] += update[3] * e;
            x4[c] += update[4] * e;
            v[c] = e * scale;
        }
    for (int i = 0; i < STATES; i++)
        for (int j = i; j < STATES; j++) {
            w->p[i][j] -= pz[i] * update[j];
            w->p[j][i] = w->p[i][j];
        }
    f->normal->log_det += log(innovation);
    f->normal->n_observed++;
    if (++f->waiting == BATCH) multiply_out(f);
}

/* Takes in point i's observation of one kind, if it has one. In row stands minus what each unknown
 * adds to the observation directly, and not through the state. */
static void observe_kind(struct filter *f, const struct cw_linear *l, size_t i, enum cw_kind kind,
                         const struct cw_noise *noise) {
    struct cw_markov_observation seen;
    if (!cw_markov_observation_make(l, i, kind, noise, &seen)) return;
    size_t n = f->n_nodes + CW_TAIL;
    double *row = f->w->rows + f->waiting * n, *tail = row + f->n_nodes;
    memset(row, 0, n * sizeof *row);
    tail[CW_TAIL_DATA] = seen.rest;
    if (kind == CW_SEEN_SPEED) {
        size_t local = touch(f, &l->node[i]);
        for (size_t k = 0; k < 4; k++) row[local + k] = l->gain[i] * l->node[i].weight[k];
        tail[CW_TAIL_SCALE] = -l->data->speed_ms[i];
    } else if (kind == CW_SEEN_HEIGHT) {
        size_t local = touch(f, &l->lagged_node[i]);
        for (size_t k = 0; k < 4; k++) row[local + k] = -l->lagged_node[i].weight[k];
        tail[CW_TAIL_OFFSET] = -1;
    }
    observe(f, seen.by_state, seen.variance, row);
}

/* Moves the answers of all columns from point i to i + 1. */
static void predict(struct filter *f, const struct cw_linear *l, size_t i,
                    const struct cw_noise *noise) {
    struct cw_whitener *w = f->w;
    struct cw_markov_step step;
    cw_markov_step_make(l, i, noise, &step);
    size_t here = touch(f, &l->node[i]), there = touch(f, &l->node[i + 1]);
    size_t n = f->n_nodes + CW_TAIL;
    const size_t from[2] = {0, f->n_nodes}, to[2] = {f->active, n};
    double *restrict shift = w->state[CW_STATE_SHIFT], *restrict energy = w->state[CW_STATE_ENERGY],
                     *restrict gust = w->state[CW_STATE_GUST],
                     *restrict drift = w->state[CW_STATE_DRIFT],
                     *restrict wander = w->state[CW_STATE_WANDER];
    const double *t0 = step.transition[CW_STATE_SHIFT], *t1 = step.transition[CW_STATE_ENERGY];
    const double s0 = t0[0], e0 = t0[1], g0 = t0[2], s1 = t1[0], e1 = t1[1], g1 = t1[2];
    const double keep_gust = step.transition[CW_STATE_GUST][CW_STATE_GUST],
                 keep_drift = step.transition[CW_STATE_DRIFT][CW_STATE_DRIFT],
                 keep_wander = step.transition[CW_STATE_WANDER][CW_STATE_WANDER];
    for (int part = 0; part < 2; part++)
        for (size_t c = from[part]; c < to[part]; c++) {
            double s = shift[c], e = energy[c], g = gust[c];
            shift[c] = s0 * s + e0 * e + g0 * g;
            energy[c] = s1 * s + e1 * e + g1 * g;
            gust[c] = keep_gust * g;
            drift[c] *= keep_drift;
            wander[c] *= keep_wander;
        }
    size_t crr = f->n_nodes + CW_TAIL_CRR, cda = f->n_nodes + CW_TAIL_CDA,
           data = f->n_nodes + CW_TAIL_DATA;
    double roll = l->roll_m[i + 1] - l->roll_m[i], drag = l->drag_m[i + 1] - l->drag_m[i];
    for (int r = 0; r < 2; r++) {
        double *answer = w->state[r == 0 ? CW_STATE_SHIFT : CW_STATE_ENERGY];
        for (size_t k = 0; k < 4; k++) {
            answer[here + k] += step.here[r] * l->node[i].weight[k];
            answer[there + k] += step.there[r] * l->node[i + 1].weight[k];
        }
        answer[crr] += step.loss[r] * roll;
        answer[cda] += step.loss[r] * drag;
        answer[data] += step.here[r] * l->residual[i] + step.there[r] * l->residual[i + 1];
    }
    covariance_predict(w->p, &step);
}

void cw_whiten(struct cw_whitener *w, const struct cw_linear *linear, const struct cw_noise *noise,
               struct cw_normal *normal) {
    struct filter f = {.w = w, .normal = normal, .n_nodes = normal->n_nodes};
    size_t n = normal->n_nodes + CW_TAIL;
    normal->n = n;
    normal->log_det = 0;
    normal->n_observed = 0;
    memset(normal->product, 0, n * n * sizeof *normal->product);
    for (int k = 0; k < STATES; k++) memset(w->state[k], 0, n * sizeof *w->state[k]);
    cw_markov_start(noise, w->p);
    w->state[CW_STATE_SHIFT][f.n_nodes + CW_TAIL_SHIFT] = 1;
    w->state[CW_STATE_ENERGY][f.n_nodes + CW_TAIL_ENERGY] = 1;
    /* The reference starts with its own balance spent: E = r. */
    w->state[CW_STATE_ENERGY][f.n_nodes + CW_TAIL_DATA] = linear->residual[0];
    for (size_t i = 0; i < linear->n; i++) {
        for (enum cw_kind kind = 0; kind < CW_SEEN_KINDS; kind++)
            observe_kind(&f, linear, i, kind, noise);
        if (i + 1 < linear->n) predict(&f, linear, i, noise);
    }
    multiply_out(&f);
}
