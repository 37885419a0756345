#include "fit/stretch.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/wide.h"
#include "fit/transition.h"

enum {
    STATES = CW_STATES,
    SPAN = 12, /* coefficients that a stretch touches */
    SIDE = CW_STATES_SIDE
};

enum cw_status cw_stretch_alloc(size_t n_nodes, struct cw_stretch *s) {
    size_t n = cw_fours(n_nodes + CW_TAIL + STATES);
    *s = (struct cw_stretch){.mean = malloc((STATES + CW_STRETCH_BATCH + n) * n * sizeof *s->mean)};
    if (!s->mean) return CW_E_MEMORY;
    s->rows = s->mean + STATES * n;
    s->product = s->rows + CW_STRETCH_BATCH * n;
    return CW_OK;
}

void cw_stretch_free(struct cw_stretch *s) {
    free(s->mean);
    *s = (struct cw_stretch){0};
}

/* P <- T P T' + Q. */
CW_WIDE static void covariance_predict(double p[STATES][SIDE],
                                       const double transition[STATES][STATES],
                                       const double noise[STATES][SIDE]) {
    double product[STATES][SIDE], turned[STATES][SIDE] = {{0}};
    cw_transition_on(transition, *p, NULL, *product, SIDE, SIDE);
    cw_transition_turn(product, turned);
    cw_transition_on(transition, *turned, *noise, *p, SIDE, SIDE);
    for (size_t i = 0; i < STATES; i++)
        for (size_t j = i + 1; j < STATES; j++) p[i][j] = p[j][i];
}

/* product += rows' rows, for n rows: the upper triangle, and of what is below it what lies in the
 * same fours. */
CW_WIDE static void add_products(double *restrict product, const double *restrict rows, size_t n,
                                 size_t width) {
    for (size_t i = 0; i < width; i += CW_FOUR)
        for (size_t j = i; j < width; j += CW_FOUR) {
            cw_four sum[CW_FOUR];
            for (size_t a = 0; a < CW_FOUR; a++)
                sum[a] = *(const cw_four *)(product + (i + a) * width + j);
            for (size_t k = 0; k < n; k++) {
                cw_four right = *(const cw_four *)(rows + k * width + j);
                const double *left = rows + k * width + i;
                for (size_t a = 0; a < CW_FOUR; a++) sum[a] += left[a] * right;
            }
            for (size_t a = 0; a < CW_FOUR; a++)
                *(cw_four *)(product + (i + a) * width + j) = sum[a];
        }
}

static void multiply_out(struct cw_stretch *s) {
    if (!s->trail) add_products(s->product, s->rows, s->waiting, s->width);
    s->log_det += log(s->innovations);
    s->innovations = 1;
    s->waiting = 0;
}

/* row -= z' mean, mean += update row', row *= scale: of one observation, for all columns. */
CW_WIDE static void innovate(double *restrict row, double *restrict mean, const double z[STATES],
                             const double update[STATES], double scale, size_t width) {
    for (size_t k = 0; k < STATES; k++)
        if (z[k] != 0)
            for (size_t c = 0; c < width; c += CW_FOUR)
                *(cw_four *)(row + c) -= z[k] * *(const cw_four *)(mean + k * width + c);
    for (size_t c = 0; c < width; c += CW_FOUR) {
        cw_four innovation = *(cw_four *)(row + c);
        for (size_t k = 0; k < STATES; k++)
            *(cw_four *)(mean + k * width + c) += update[k] * innovation;
        *(cw_four *)(row + c) = scale * innovation;
    }
}

/* mean <- T mean, for all columns. */
CW_WIDE static void move_on(double *mean, const double transition[STATES][STATES], size_t width) {
    cw_transition_on(transition, mean, NULL, mean, width, width);
}

/* P <- P - pz pz' / innovation, pz = P z: what the states' covariance is after an observation.
 * Returns the innovation's variance. */
CW_WIDE static double learn(double p[STATES][SIDE], const double z[STATES], double variance,
                            double pz[SIDE]) {
    for (size_t c = 0; c < SIDE; c += CW_FOUR) {
        cw_four sum = {0};
        for (size_t k = 0; k < STATES; k++) sum += z[k] * *(const cw_four *)(p[k] + c);
        *(cw_four *)(pz + c) = sum;
    }
    double innovation = variance;
    for (size_t k = 0; k < STATES; k++) innovation += z[k] * pz[k];
    double part = 1 / innovation;
    for (size_t i = 0; i < STATES; i++)
        for (size_t c = 0; c < SIDE; c += CW_FOUR)
            *(cw_four *)(p[i] + c) -= pz[i] * part * *(const cw_four *)(pz + c);
    return innovation;
}

/* Makes the innovations of one observation from row, and lets the states learn from them. A column
 * of an unknown comes out as minus what a unit of it adds to the innovation; the sum over the data
 * column and all unknowns' columns times their values is the innovation. */
static void observe(struct cw_stretch *s, enum cw_kind kind, const double z[STATES],
                    double variance, double *row) {
    double pz[SIDE] = {0}, update[STATES];
    if (s->trail) cw_trail_look(s->trail, s->p, s->mean);
    double innovation = learn(s->p, z, variance, pz);
    for (int i = 0; i < STATES; i++) update[i] = pz[i] / innovation;
    innovate(row, s->mean, z, update, 1 / sqrt(innovation), s->width);
    if (s->trail) cw_trail_see(s->trail, kind, z, pz, innovation, row);
    s->innovations *= innovation;
    s->n_observed++;
    if (++s->waiting == CW_STRETCH_BATCH) multiply_out(s);
}

/* Takes in point i's observation of one kind, if it has one. In row stands minus what each unknown
 * adds to the observation directly, and not through the state. */
static void observe_kind(struct cw_stretch *s, const struct cw_linear *l, size_t i,
                         enum cw_kind kind, const struct cw_noise *noise) {
    struct cw_markov_observation seen;
    if (!cw_markov_observation_make(l, i, kind, noise, &seen)) return;
    double *row = s->rows + s->waiting * s->width, *tail = row + s->tail;
    memset(row, 0, s->width * sizeof *row);
    tail[CW_TAIL_DATA] = seen.rest;
    if (kind == CW_SEEN_SPEED) {
        double *nodes = row + (l->node[i].first - s->low);
        for (size_t k = 0; k < 4; k++) nodes[k] = l->gain[i] * l->node[i].weight[k];
        tail[CW_TAIL_SCALE] = -l->data->speed_ms[i];
    } else if (kind == CW_SEEN_HEIGHT) {
        double *nodes = row + (l->felt_node[i].first - s->low);
        for (size_t k = 0; k < 4; k++) nodes[k] = -l->felt_node[i].weight[k];
        tail[CW_TAIL_OFFSET] = -1;
    }
    observe(s, kind, seen.by_state, seen.variance, row);
}

/* Moves the answers of all columns from point i to i + 1. */
static void predict(struct cw_stretch *s, const struct cw_linear *l, size_t i) {
    struct cw_markov_step step;
    cw_markov_step_make(l, i, &s->paces, &step);
    if (s->trail) cw_trail_step(s->trail, &step, i, s->p, s->mean);
    move_on(s->mean, step.transition, s->width);
    double roll = l->roll_m[i + 1] - l->roll_m[i], drag = l->drag_m[i + 1] - l->drag_m[i],
           bend = l->bend_m[i + 1] - l->bend_m[i], wind = l->wind_m[i + 1] - l->wind_m[i];
    for (size_t r = 0; r < CW_FORCED; r++) {
        double *answer = s->mean + r * s->width;
        double *here = answer + (l->node[i].first - s->low),
               *there = answer + (l->node[i + 1].first - s->low),
               *felt_here = answer + (l->felt_node[i].first - s->low),
               *felt_there = answer + (l->felt_node[i + 1].first - s->low),
               *tail = answer + s->tail;
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
        tail[CW_TAIL_OWN_WIND] += step.loss[r] * wind;
        tail[CW_TAIL_DATA] += step.here[r] * l->residual[i] + step.there[r] * l->residual[i + 1];
    }
    covariance_predict(s->p, step.transition, step.noise);
}

size_t cw_stretch_begin(struct cw_stretch *s, const struct cw_linear *l, size_t from, size_t most) {
    size_t low = SIZE_MAX, high = 0, i = from;
    for (; i < most; i++) {
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
    s->low = low;
    s->tail = high - low;
    s->n = s->tail + CW_TAIL + STATES;
    s->width = cw_fours(s->n);
    memset(s->product, 0, s->width * s->width * sizeof *s->product);
    memset(s->mean, 0, STATES * s->width * sizeof *s->mean);
    for (size_t k = 0; k < STATES; k++) s->mean[k * s->width + s->tail + CW_TAIL + k] = 1;
    s->log_det = 0;
    s->n_observed = s->waiting = 0;
    s->innovations = 1;
    return i;
}

void cw_stretch_filter(struct cw_stretch *s, const struct cw_linear *linear,
                       const struct cw_noise *noise, size_t from, size_t end) {
    for (size_t i = from; i < end; i++) {
        for (enum cw_kind kind = 0; kind < CW_SEEN_KINDS; kind++)
            observe_kind(s, linear, i, kind, noise);
        if (i + 1 < linear->n) predict(s, linear, i);
    }
    multiply_out(s);
    for (size_t a = 0; !s->trail && a < s->width; a++)
        for (size_t b = 0; b < a; b++) s->product[a * s->width + b] = s->product[b * s->width + a];
}
