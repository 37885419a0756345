#include "fit/whiten.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fit/markov.h"

/* A run is taken in stretches. Within one, columns are filtered for the profile's coefficients that
 * the stretch touches, for the tail, and for a unit of each state at the stretch's start (a
 * carrier). A coefficient that the run has left behind acts on only through what it did to the
 * states, so at the stretch's end its part is put together from the carriers'; it need not be
 * filtered on to the run's end. */
enum {
    STATES = CW_STATES,
    SPAN = 12, /* coefficients that a stretch touches */
    BATCH = 4  /* rows multiplied out at once: each element of the product is fetched once */
};

struct cw_whitener {
    size_t capacity; /* columns of a stretch, at most, and of a run: what states are apart below */
    double *mean;    /* of each state in answer to each column of the stretch */
    double *next;    /* room for the mean after a step */
    double *past;    /* the mean at the stretch's start, to each column of the whole run */
    double *shared;  /* what a carrier has in common with each column of the run */
    double *rows;    /* whitened rows waiting to be multiplied out */
    double *product; /* of the stretch's columns */
    double p[STATES][STATES];
};

struct cw_whitener *cw_whitener_alloc(size_t n_nodes) {
    struct cw_whitener *w = calloc(1, sizeof *w);
    if (!w) return NULL;
    size_t n = w->capacity = n_nodes + CW_TAIL + STATES;
    double *block = malloc((4 * STATES + BATCH + n) * n * sizeof *block);
    if (!block) {
        free(w);
        return NULL;
    }
    w->mean = block;
    w->next = block + STATES * n;
    w->past = block + 2 * STATES * n;
    w->shared = block + 3 * STATES * n;
    w->rows = block + 4 * STATES * n;
    w->product = w->rows + BATCH * n;
    return w;
}

void cw_whitener_free(struct cw_whitener *w) {
    if (!w) return;
    free(w->mean < w->next ? w->mean : w->next); /* they change places */
    free(w);
}

/* to += by x from, for n numbers. */
static void add_times(double *restrict to, double by, const double *restrict from, size_t n) {
    for (size_t i = 0; i < n; i++) to[i] += by * from[i];
}

/* to += the sum of by[k] times from[k], each state's numbers stride apart, for the columns from
 * low up to high. The inner loop's length is known, and compilers unroll it. */
static void add_states(double *restrict to, const double by[STATES], const double *restrict from,
                       size_t stride, size_t low, size_t high) {
    for (size_t i = low; i < high; i++) {
        double sum = to[i];
        for (size_t k = 0; k < STATES; k++) sum += by[k] * from[k * stride + i];
        to[i] = sum;
    }
}

/* P <- T P T' + Q. Most of T is zero. */
static void covariance_predict(double p[STATES][STATES], const struct cw_markov_step *step) {
    double tp[STATES][STATES] = {{0}};
    for (int i = 0; i < STATES; i++)
        for (int k = 0; k < STATES; k++)
            if (step->transition[i][k] != 0)
                for (int j = 0; j < STATES; j++) tp[i][j] += step->transition[i][k] * p[k][j];
    memcpy(p, step->noise, sizeof step->noise);
    for (int j = 0; j < STATES; j++)
        for (int k = 0; k < STATES; k++)
            if (step->transition[j][k] != 0)
                for (int i = 0; i <= j; i++) p[i][j] += tp[i][k] * step->transition[j][k];
    for (int i = 0; i < STATES; i++)
        for (int j = 0; j < i; j++) p[i][j] = p[j][i];
}

struct filter {
    struct cw_whitener *w;
    struct cw_normal *normal;
    size_t touched;      /* coefficients of the run up to here were touched */
    size_t low, tail, n; /* of the stretch: first coefficient, how many, columns */
    size_t waiting;      /* rows not yet multiplied out */
};

static void multiply_out(struct filter *f) {
    size_t n = f->n;
    double *rows = f->w->rows;
    for (size_t k = f->waiting; k < BATCH; k++) memset(rows + k * n, 0, n * sizeof *rows);
    const double *restrict r0 = rows, *restrict r1 = rows + n, *restrict r2 = rows + 2 * n,
                           *restrict r3 = rows + 3 * n;
    for (size_t i = 0; i < n; i++) {
        double *restrict to = f->w->product + i * n;
        double a = r0[i], b = r1[i], c = r2[i], d = r3[i];
        for (size_t j = i; j < n; j++) to[j] += a * r0[j] + b * r1[j] + c * r2[j] + d * r3[j];
    }
    f->waiting = 0;
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

    size_t n = f->n;
    for (size_t k = 0; k < STATES; k++)
        if (z[k] != 0) add_times(row, -z[k], w->mean + k * w->capacity, n);
    for (size_t k = 0; k < STATES; k++) add_times(w->mean + k * w->capacity, update[k], row, n);
    for (size_t c = 0; c < n; c++) row[c] *= scale;
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
    double *row = f->w->rows + f->waiting * f->n, *tail = row + f->tail;
    memset(row, 0, f->n * sizeof *row);
    tail[CW_TAIL_DATA] = seen.rest;
    if (kind == CW_SEEN_SPEED) {
        double *nodes = row + (l->node[i].first - f->low);
        for (size_t k = 0; k < 4; k++) nodes[k] = l->gain[i] * l->node[i].weight[k];
        tail[CW_TAIL_SCALE] = -l->data->speed_ms[i];
    } else if (kind == CW_SEEN_HEIGHT) {
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
    for (size_t r = 0; r < STATES; r++) {
        double *next = w->next + r * w->capacity;
        memset(next, 0, f->n * sizeof *next);
        for (size_t k = 0; k < STATES; k++)
            if (step.transition[r][k] != 0)
                add_times(next, step.transition[r][k], w->mean + k * w->capacity, f->n);
    }
    double *after = w->next;
    w->next = w->mean;
    w->mean = after;
    double roll = l->roll_m[i + 1] - l->roll_m[i], drag = l->drag_m[i + 1] - l->drag_m[i],
           bend = l->bend_m[i + 1] - l->bend_m[i], wind = l->wind_m[i + 1] - l->wind_m[i];
    for (size_t r = 0; r < CW_FORCED; r++) {
        double *answer = w->mean + r * w->capacity;
        double *here = answer + (l->node[i].first - f->low),
               *there = answer + (l->node[i + 1].first - f->low),
               *felt_here = answer + (l->felt_node[i].first - f->low),
               *felt_there = answer + (l->felt_node[i + 1].first - f->low),
               *tail = answer + f->tail;
        for (size_t k = 0; k < 4; k++) {
            here[k] += step.here[r] * l->node[i].weight[k];
            there[k] += step.there[r] * l->node[i + 1].weight[k];
            felt_here[k] += step.felt_here[r] * l->felt_node[i].weight[k];
            felt_there[k] += step.felt_there[r] * l->felt_node[i + 1].weight[k];
        }
        tail[CW_TAIL_CRR] += step.loss[r] * roll;
        tail[CW_TAIL_CDA] += step.loss[r] * drag;
        tail[CW_TAIL_BENDS] += step.loss[r] * bend;
        tail[CW_TAIL_WIND] += step.loss[r] * wind;
        tail[CW_TAIL_DATA] += step.here[r] * l->residual[i] + step.there[r] * l->residual[i + 1];
    }
    covariance_predict(w->p, &step);
}

/* The points from `from` on that touch no more than SPAN coefficients (or just the one point):
 * returns the one after them, and sets the filter up for them. */
static size_t begin_stretch(struct filter *f, const struct cw_linear *l, size_t from) {
    struct cw_whitener *w = f->w;
    size_t low = SIZE_MAX, high = 0, i = from;
    for (; i < l->n; i++) {
        /* the step on from a point reaches the next one's too */
        size_t next = i + 1 < l->n ? i + 1 : i, wider_low = low, wider_high = high;
        const size_t first[4] = {l->node[i].first, l->felt_node[i].first, l->node[next].first,
                                 l->felt_node[next].first};
        for (int k = 0; k < 4; k++) {
            if (first[k] < wider_low) wider_low = first[k];
            if (first[k] + 4 > wider_high) wider_high = first[k] + 4;
        }
        if (i > from && wider_high - wider_low > SPAN) break;
        low = wider_low;
        high = wider_high;
    }
    f->low = low;
    f->tail = high - low;
    f->n = f->tail + CW_TAIL + STATES;
    if (high - f->normal->first_node > f->touched) f->touched = high - f->normal->first_node;
    memset(w->product, 0, f->n * f->n * sizeof *w->product);
    for (size_t k = 0; k < STATES; k++) {
        double *mean = w->mean + k * w->capacity;
        memset(mean, 0, f->n * sizeof *mean);
        mean[f->tail + CW_TAIL + k] = 1;
    }
    return i;
}

/* The run's column that the stretch's column a is part of; carriers are part of none. */
static size_t column_of(const struct filter *f, size_t a) {
    return a < f->tail ? f->low - f->normal->first_node + a : f->normal->n_nodes + a - f->tail;
}

/* Adds the stretch's products to the run's: each of the run's columns is, in the stretch, the
 * carriers times the states it came with, and the stretch's own column of it if there is one. */
static void end_stretch(struct filter *f) {
    struct cw_whitener *w = f->w;
    size_t whole = f->normal->n, own = f->tail + CW_TAIL, n = f->n, nodes = f->normal->n_nodes;
    multiply_out(f);
    for (size_t a = 0; a < n; a++)
        for (size_t b = 0; b < a; b++) w->product[a * n + b] = w->product[b * n + a];
    /* Coefficients not touched yet are zero. */
    const size_t from[2] = {0, nodes}, to[2] = {f->touched, whole};
    for (size_t k = 0; k < STATES; k++) {
        double *y = w->shared + k * w->capacity;
        const double *with = w->product + (own + k) * n;
        for (int part = 0; part < 2; part++) {
            memset(y + from[part], 0, (to[part] - from[part]) * sizeof *y);
            add_states(y, with + own, w->past, w->capacity, from[part], to[part]);
        }
        for (size_t a = 0; a < own; a++) y[column_of(f, a)] += with[a];
    }
    for (int rows = 0; rows < 2; rows++)
        for (size_t c = from[rows]; c < to[rows]; c++) {
            double *out = f->normal->product + c * whole, came[STATES];
            for (size_t k = 0; k < STATES; k++) came[k] = w->past[k * w->capacity + c];
            for (int part = rows; part < 2; part++)
                add_states(out, came, w->shared, w->capacity, part == rows ? c : nodes, to[part]);
        }
    for (size_t a = 0; a < own; a++) {
        size_t c = column_of(f, a);
        double *out = f->normal->product + c * whole;
        const double *row = w->product + a * n;
        for (int part = c < nodes ? 0 : 1; part < 2; part++)
            add_states(out, row + own, w->past, w->capacity, c > from[part] ? c : from[part],
                       to[part]);
        for (size_t b = a; b < own; b++) out[column_of(f, b)] += row[b];
    }
    for (int part = 0; part < 2; part++)
        for (size_t d = from[part]; d < to[part]; d++) {
            double came[STATES];
            for (size_t k = 0; k < STATES; k++) came[k] = w->past[k * w->capacity + d];
            for (size_t k = 0; k < STATES; k++) {
                const double *carried = w->mean + k * w->capacity + own;
                double sum = 0;
                for (size_t j = 0; j < STATES; j++) sum += carried[j] * came[j];
                w->past[k * w->capacity + d] = sum;
            }
        }
    for (size_t k = 0; k < STATES; k++)
        for (size_t a = 0; a < own; a++)
            w->past[k * w->capacity + column_of(f, a)] += w->mean[k * w->capacity + a];
}

void cw_whiten(struct cw_whitener *w, const struct cw_linear *linear, const struct cw_noise *noise,
               struct cw_normal *normal) {
    struct filter f = {.w = w, .normal = normal};
    size_t n = normal->n_nodes + CW_TAIL;
    normal->n = n;
    normal->log_det = 0;
    normal->n_observed = 0;
    memset(normal->product, 0, n * n * sizeof *normal->product);
    memset(w->past, 0, STATES * w->capacity * sizeof *w->past);
    cw_markov_start(linear, noise, w->p);
    double *tail = w->past + normal->n_nodes;
    tail[CW_STATE_SHIFT * w->capacity + CW_TAIL_SHIFT] = 1;
    tail[CW_STATE_ENERGY * w->capacity + CW_TAIL_ENERGY] = 1;
    /* The basis motion starts with its own balance spent: E = r. */
    tail[CW_STATE_ENERGY * w->capacity + CW_TAIL_DATA] = linear->residual[0];
    double *shown = w->past + CW_STATE_SHOWN * w->capacity;
    size_t start = linear->start_node.first - normal->first_node;
    for (size_t k = 0; k < 4; k++) shown[start + k] = linear->start_node.weight[k];
    shown[normal->n_nodes + CW_TAIL_SHIFT] = linear->start_slope;
    f.touched = start + 4;
    for (size_t i = 0; i < linear->n;) {
        size_t end = begin_stretch(&f, linear, i);
        for (; i < end; i++) {
            for (enum cw_kind kind = 0; kind < CW_SEEN_KINDS; kind++)
                observe_kind(&f, linear, i, kind, noise);
            if (i + 1 < linear->n) predict(&f, linear, i, noise);
        }
        end_stretch(&f);
    }
}
