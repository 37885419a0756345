#include "fit/whiten.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/wide.h"
#include "fit/lag.h"
#include "fit/places.h"
#include "fit/whitener.h"

enum { STATES = CW_STATES };

struct cw_whitener *cw_whitener_alloc(size_t n_nodes) {
    struct cw_whitener *w = calloc(1, sizeof *w);
    if (!w) return NULL;
    size_t n = w->capacity = cw_fours(n_nodes + 2 * STATES + CW_TAIL);
    w->past = malloc(3 * STATES * n * sizeof *w->past);
    if (!w->past || cw_stretch_alloc(n_nodes, &w->stretch) < 0) {
        cw_whitener_free(w);
        return NULL;
    }
    w->shared = w->past + STATES * n;
    w->answer = w->shared + STATES * n;
    return w;
}

void cw_whitener_free(struct cw_whitener *w) {
    if (!w) return;
    cw_stretch_free(&w->stretch);
    cw_trail_free(&w->trail);
    free(w->past);
    free(w->way_back);
    free(w);
}

/* to += the sum of by[k] times from[k], each state's numbers stride apart, for the columns from
 * low up to high. The inner loop's length is known, and compilers unroll it. */
static inline void add_states(double *restrict to, const double by[STATES],
                              const double *restrict from, size_t stride, size_t low, size_t high) {
    for (size_t i = low; i < high; i++) {
        double sum = to[i];
        for (size_t k = 0; k < STATES; k++) sum += by[k] * from[k * stride + i];
        to[i] = sum;
    }
}

/* Adds the stretch's products to the run's: each of the run's columns is, in the stretch, the
 * carriers times the states it came with, and the stretch's own column of it if there is one. */
CW_WIDE static void add_stretch(struct cw_whitener *w, struct cw_normal *normal) {
    const struct cw_stretch *s = &w->stretch;
    size_t whole = normal->n, own = s->tail + CW_TAIL, n = s->width, nodes = normal->n_nodes;
    /* Coefficients not touched yet are zero. */
    const size_t from[2] = {0, nodes}, to[2] = {w->touched, whole};
    for (size_t k = 0; k < STATES; k++) {
        double *y = w->shared + k * w->capacity;
        const double *with = s->product + (own + k) * n;
        for (int part = 0; part < 2; part++) {
            memset(y + from[part], 0, (to[part] - from[part]) * sizeof *y);
            add_states(y, with + own, w->past, w->capacity, from[part], to[part]);
        }
        for (size_t a = 0; a < own; a++)
            y[cw_whitener_column(normal, s->low, s->tail, a)] += with[a];
    }
    for (int rows = 0; rows < 2; rows++)
        for (size_t c = from[rows]; c < to[rows]; c++) {
            double *out = normal->product + c * whole, came[STATES];
            for (size_t k = 0; k < STATES; k++) came[k] = w->past[k * w->capacity + c];
            for (int part = rows; part < 2; part++)
                add_states(out, came, w->shared, w->capacity, part == rows ? c : nodes, to[part]);
        }
    for (size_t a = 0; a < own; a++) {
        size_t c = cw_whitener_column(normal, s->low, s->tail, a);
        double *out = normal->product + c * whole;
        const double *row = s->product + a * n;
        for (int part = c < nodes ? 0 : 1; part < 2; part++)
            add_states(out, row + own, w->past, w->capacity, c > from[part] ? c : from[part],
                       to[part]);
        for (size_t b = a; b < own; b++)
            out[cw_whitener_column(normal, s->low, s->tail, b)] += row[b];
    }
}

CW_WIDE static void carry_on(struct cw_whitener *w, const struct cw_normal *normal) {
    const struct cw_stretch *s = &w->stretch;
    size_t own = s->tail + CW_TAIL, n = s->width;
    const size_t from[2] = {0, normal->n_nodes}, to[2] = {w->touched, normal->n};
    for (int part = 0; part < 2; part++)
        for (size_t d = from[part]; d < to[part]; d++) {
            double came[STATES];
            for (size_t k = 0; k < STATES; k++) came[k] = w->past[k * w->capacity + d];
            for (size_t k = 0; k < STATES; k++) {
                const double *carried = s->mean + k * n + own;
                double sum = 0;
                for (size_t j = 0; j < STATES; j++) sum += carried[j] * came[j];
                w->past[k * w->capacity + d] = sum;
            }
        }
    for (size_t k = 0; k < STATES; k++)
        for (size_t a = 0; a < own; a++)
            w->past[k * w->capacity + cw_whitener_column(normal, s->low, s->tail, a)] +=
                s->mean[k * n + a];
}

/* The run's first states: shift and energy are unknowns of the tail. */
static void begin_run(struct cw_whitener *w, const struct cw_linear *linear,
                      const struct cw_noise *noise, const struct cw_normal *normal) {
    double start_covariance[STATES][STATES];
    cw_markov_start(linear, noise, start_covariance);
    for (size_t i = 0; i < STATES; i++)
        memcpy(w->stretch.p[i], start_covariance[i], sizeof start_covariance[i]);
    size_t tail = cw_normal_tail(normal, linear);
    double *late = w->past + CW_STATE_LATE * w->capacity;
    w->past[CW_STATE_SHIFT * w->capacity + tail + CW_TAIL_SHIFT] = 1;
    w->past[CW_STATE_ENERGY * w->capacity + tail + CW_TAIL_ENERGY] = 1;
    /* The basis motion starts with its own balance spent: E = r. */
    w->past[CW_STATE_ENERGY * w->capacity + tail + CW_TAIL_DATA] = linear->residual[0];
    late[tail + CW_TAIL_SHIFT] = linear->start_slope - linear->felt_slope[0];
    size_t start = linear->start_node.first - normal->first_node,
           felt = linear->felt_node[0].first - normal->first_node;
    for (size_t k = 0; k < 4; k++) {
        late[start + k] += linear->start_node.weight[k];
        late[felt + k] -= linear->felt_node[0].weight[k];
    }
    w->touched = (start > felt ? start : felt) + 4;
}

/* Whether the height shown is another than the one felt, where a run is cut: else it is no unknown.
 */
static bool is_late(const struct cw_linear *linear, size_t at) {
    struct cw_lag_step step =
        cw_lag_step_make(linear->data->time_s[at] - linear->data->time_s[at - 1], linear->lag_s);
    return step.here + step.keep > 0;
}

/* Amid a run, where all states are unknowns. */
static void begin_amid(struct cw_whitener *w, const struct cw_linear *linear,
                       const struct cw_normal *normal) {
    size_t begin = cw_normal_begin(normal);
    for (size_t k = 0; k < STATES; k++)
        if (k != CW_STATE_LATE || is_late(linear, normal->from))
            w->past[k * w->capacity + begin + k] = 1;
    w->past[CW_STATE_ENERGY * w->capacity + cw_normal_tail(normal, linear) + CW_TAIL_DATA] =
        linear->residual[normal->from];
    w->touched = 0;
}

static void begin(struct cw_whitener *w, const struct cw_linear *linear,
                  const struct cw_noise *noise, const struct cw_normal *normal) {
    memset(w->stretch.p, 0, sizeof w->stretch.p);
    cw_markov_paces_begin(&w->stretch.paces, noise, linear->lag_s);
    memset(w->past, 0, STATES * w->capacity * sizeof *w->past);
    if (normal->from)
        begin_amid(w, linear, normal);
    else
        begin_run(w, linear, noise, normal);
}

static size_t begin_stretch(struct cw_whitener *w, const struct cw_linear *linear,
                            const struct cw_normal *normal, size_t from) {
    size_t end = cw_stretch_begin(&w->stretch, linear, from, normal->end);
    size_t high = w->stretch.low + w->stretch.tail - normal->first_node;
    if (high > w->touched) w->touched = high;
    return end;
}

/* Of a covariance, in place of its lower triangle; returns the logarithm of its determinant. */
static double factorise(double a[STATES][STATES]) {
    double log_det = 0;
    for (size_t j = 0; j < STATES; j++) {
        for (size_t k = 0; k < j; k++) a[j][j] -= a[j][k] * a[j][k];
        if (!(a[j][j] > 0)) return NAN;
        a[j][j] = sqrt(a[j][j]);
        log_det += 2 * log(a[j][j]);
        for (size_t i = j + 1; i < STATES; i++) {
            for (size_t k = 0; k < j; k++) a[i][j] -= a[i][k] * a[j][k];
            a[i][j] /= a[j][j];
        }
    }
    return log_det;
}

void cw_whitener_end(const double *past, size_t stride, const double p[STATES][CW_STATES_SIDE],
                     const struct cw_linear *linear, const struct cw_normal *normal,
                     struct cw_whitener_end *end) {
    size_t n = normal->n;
    for (size_t k = 0; k < STATES; k++) {
        double *answer = end->answer + k * n;
        memcpy(answer, past + k * stride, n * sizeof *answer);
        memcpy(end->factor[k], p[k], sizeof end->factor[k]);
        answer[cw_normal_end(normal) + k] -= 1;
        if (k == CW_STATE_ENERGY) answer[n - 1] -= linear->residual[normal->end];
    }
    /* What is no unknown is no one's concern. */
    if (!is_late(linear, normal->end)) end->factor[CW_STATE_LATE][CW_STATE_LATE] = 1;
    end->log_det = factorise(end->factor);
}

/* Adds what is known of the states at the piece's end, given those at its start and all that was
 * seen within it. */
CW_WIDE static void add_end(struct cw_whitener *w, const struct cw_linear *linear,
                            struct cw_normal *normal) {
    size_t n = normal->n;
    struct cw_whitener_end end = {.answer = w->answer};
    cw_whitener_end(w->past, w->capacity, w->stretch.p, linear, normal, &end);
    normal->log_det += end.log_det;
    for (size_t k = 0; k < STATES; k++) {
        double *row = end.answer + k * n;
        for (size_t j = 0; j < k; j++)
            for (size_t a = 0; a < n; a++) row[a] -= end.factor[k][j] * end.answer[j * n + a];
        for (size_t a = 0; a < n; a++) row[a] /= end.factor[k][k];
        for (size_t a = 0; a < n; a++) {
            if (row[a] == 0) continue;
            double *restrict to = normal->product + a * n;
            for (size_t b = a; b < n; b++) to[b] += row[a] * row[b];
        }
    }
}

enum cw_status cw_whiten(struct cw_whitener *w, const struct cw_linear *linear,
                         const struct cw_noise *noise, struct cw_normal *normal,
                         struct cw_places *places) {
    size_t n = normal->n = cw_normal_n(normal, linear);
    normal->log_det = 0;
    normal->n_observed = 0;
    if (places) places->n = 0;
    memset(normal->product, 0, n * n * sizeof *normal->product);
    begin(w, linear, noise, normal);
    for (size_t i = normal->from; i < normal->end;) {
        size_t end = begin_stretch(w, linear, normal, i);
        if (places && cw_places_come(places, w, i, end, n) < 0) return CW_E_MEMORY;
        cw_stretch_filter(&w->stretch, linear, noise, i, end);
        if (places) cw_places_leave(places, w);
        normal->log_det += w->stretch.log_det;
        normal->n_observed += w->stretch.n_observed;
        add_stretch(w, normal);
        carry_on(w, normal);
        i = end;
    }
    if (places && cw_places_come(places, w, normal->end, normal->end, n) < 0) return CW_E_MEMORY;
    if (normal->end < linear->n) add_end(w, linear, normal);
    return CW_OK;
}
