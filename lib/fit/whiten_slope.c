/* The way back through the filter: reverse differentiation of cw_whiten.
 *
 * What is asked for is how f = log_det + tr(M A) answers to the noise, A being the run's products
 * and M given. In a stretch whose products are P, A gets B' P B, where B takes the run's unknowns
 * to the stretch's columns: a column of the stretch's own is one of the run's, and a carrier is
 * what the states have gathered of all of them by then (past). So f answers to P by B M B', to what
 * the stretch makes of the states at its end by what f answers there to the run's (by_past) times
 * B', and back it goes, from the last stretch's last observation to the run's start. What each took
 * from the states is worked out anew, a stretch at a time, from what was kept of its beginning. */
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/wide.h"
#include "fit/places.h"
#include "fit/transition.h"
#include "fit/whitener.h"

enum { STATES = CW_STATES, SIDE = CW_STATES_SIDE };

/* The numbers of the noise that act in how the states move and start, and those that act in an
 * observation's variance. What the pieces of the Markov process answer to a number is their
 * difference where its logarithm is moved by a trifle. */
static const enum cw_noise_parameter moving[] = {CW_NOISE_GUST_SD,   CW_NOISE_GUST_TIME,
                                                 CW_NOISE_DRIFT_SD,  CW_NOISE_WANDER_SD,
                                                 CW_NOISE_JITTER_SD, CW_NOISE_CREEP_SD},
                                     recording[] = {CW_NOISE_ELEVATION_SD, CW_NOISE_SPEED_SD,
                                                    CW_NOISE_POSITION_SD};
enum { MOVING = sizeof moving / sizeof *moving, RECORDING = sizeof recording / sizeof *recording };
static const double trifle = 1e-6;

/* The noises that these make, and what is made of each. */
struct moved {
    struct cw_noise noise[MOVING];
    struct cw_markov_paces paces[MOVING], later; /* and at the lag that is a little larger */
    double by_kind[CW_SEEN_KINDS][RECORDING];    /* by how much an observation's variance answers */
};

CW_WIDE static void add_times(double *restrict to, double by, const double *restrict from,
                              size_t n) {
    for (size_t i = 0; i < n; i++) to[i] += by * from[i];
}

/* width: in fours. */
static inline double row_product(const double *a, const double *b, size_t width) {
    cw_four sum = {0};
    for (size_t c = 0; c < width; c += CW_FOUR)
        sum += *(const cw_four *)(a + c) * *(const cw_four *)(b + c);
    return sum[0] + sum[1] + sum[2] + sum[3];
}

/* Of columns of the run that were touched so far. */
CW_WIDE static double product_of(const double *a, const double *b, size_t touched,
                                 const struct cw_normal *normal) {
    const size_t from[2] = {0, normal->n_nodes}, to[2] = {touched, normal->n};
    double sum = 0;
    for (int part = 0; part < 2; part++) {
        size_t i = from[part], whole = (to[part] - i) / CW_FOUR * CW_FOUR;
        sum += row_product(a + i, b + i, whole);
        for (i += whole; i < to[part]; i++) sum += a[i] * b[i];
    }
    return sum;
}

/* past M where the piece begins. */
static void carry_first(const struct cw_normal *normal, const double *moment,
                        struct cw_kept_place *place) {
    size_t m = normal->n;
    memset(place->carried, 0, STATES * m * sizeof(double));
    for (size_t k = 0; k < STATES; k++)
        for (size_t c = 0; c < m; c++)
            if (place->past[k * m + c] != 0)
                add_times(place->carried + k * m, place->past[k * m + c], moment + c * m, m);
}

/* past M where the stretch after `before` begins, before being the one that was just filtered: its
 * states are those of before's end. */
static void carry_on(const struct cw_normal *normal, const double *moment,
                     const struct cw_kept_place *before, struct cw_kept_place *place) {
    size_t m = normal->n, own = before->tail + CW_TAIL;
    memset(place->carried, 0, STATES * m * sizeof(double));
    for (size_t k = 0; k < STATES; k++) {
        const double *mean = before->mean + k * before->width;
        double *to = place->carried + k * m;
        for (size_t a = 0; a < own; a++)
            add_times(to, mean[a],
                      moment + cw_whitener_column(normal, before->low, before->tail, a) * m, m);
        for (size_t j = 0; j < STATES; j++)
            add_times(to, mean[own + j], before->carried + j * m, m);
    }
}

/* What f answers to, on the way back. */
struct back {
    struct cw_whitener *w;
    const struct cw_normal *normal;
    const double *moment; /* of the run's unknowns */
    double *by_past;      /* to the states at the stretch's end, STATES x the run's columns */
    double *next;         /* room for that at its start */
    double *own;          /* B M B' */
    double *by_mean;      /* to the states' answers, STATES x width */
    double *by_row;       /* to a row */
    double by_p[STATES][SIDE];
    const struct cw_later *later;
    struct moved moved;
    double *slope, by_lag;
};

/* From the run's moments and by_past to the stretch's own and by_mean, and to by_past at its start.
 */
static void enter(struct back *b, const struct cw_kept_place *place) {
    const struct cw_normal *normal = b->normal;
    size_t m = normal->n, width = place->width, own = place->tail + CW_TAIL;
    const double *past = place->past, *carried = place->carried;
    memset(b->own, 0, width * width * sizeof(double));
    memset(b->by_mean, 0, STATES * width * sizeof(double));
    memset(b->next, 0, STATES * m * sizeof(double));
    for (size_t c = 0; c < own; c++) {
        size_t at = cw_whitener_column(normal, place->low, place->tail, c);
        const double *moment = b->moment + at * m;
        for (size_t a = 0; a < own; a++)
            b->own[a * width + c] = moment[cw_whitener_column(normal, place->low, place->tail, a)];
        for (size_t k = 0; k < STATES; k++) {
            b->own[c * width + own + k] = b->own[(own + k) * width + c] = carried[k * m + at];
            b->by_mean[k * width + c] = b->by_past[k * m + at];
            add_times(b->next + k * m, 2 * place->product[(own + k) * width + c], moment, m);
        }
    }
    for (size_t k = 0; k < STATES; k++)
        for (size_t j = 0; j < STATES; j++) {
            b->own[(own + k) * width + own + j] =
                product_of(carried + k * m, past + j * m, place->touched, normal);
            b->by_mean[k * width + own + j] =
                product_of(b->by_past + k * m, past + j * m, place->touched, normal);
            add_times(b->next + k * m, 2 * place->product[(own + k) * width + own + j],
                      carried + j * m, m);
            add_times(b->next + k * m, place->mean[j * width + own + k], b->by_past + j * m, m);
        }
    double *swap = b->by_past;
    b->by_past = b->next;
    b->next = swap;
}

/* by_row = 2 own row / sd + update' by_mean, for all columns; by_update = by_mean row sd, and
 * by_mean -= z by_row. Returns row' own row: half of what f answers to the row's scale. */
CW_WIDE static double unlearn(const double *restrict own, const double *restrict row,
                              double *restrict by_mean, double *restrict by_row,
                              const double z[STATES], const double update[STATES], double sd,
                              double by_update[STATES], size_t width) {
    for (size_t c = 0; c < width; c += CW_FOUR) *(cw_four *)(by_row + c) = (cw_four){0};
    for (size_t a = 0; a < width; a += CW_FOUR) {
        if (row[a] == 0 && row[a + 1] == 0 && row[a + 2] == 0 && row[a + 3] == 0) continue;
        const double *from = own + a * width;
        for (size_t c = 0; c < width; c += CW_FOUR) {
            cw_four sum = *(const cw_four *)(by_row + c);
            for (size_t k = 0; k < CW_FOUR; k++)
                sum += row[a + k] * *(const cw_four *)(from + k * width + c);
            *(cw_four *)(by_row + c) = sum;
        }
    }
    double by_scale = row_product(by_row, row, width);
    for (size_t k = 0; k < STATES; k++)
        by_update[k] = sd * row_product(by_mean + k * width, row, width);
    for (size_t c = 0; c < width; c += CW_FOUR) {
        cw_four sum = 2 / sd * *(cw_four *)(by_row + c);
        for (size_t k = 0; k < STATES; k++)
            sum += update[k] * *(const cw_four *)(by_mean + k * width + c);
        *(cw_four *)(by_row + c) = sum;
        for (size_t k = 0; k < STATES; k++)
            if (z[k] != 0) *(cw_four *)(by_mean + k * width + c) -= z[k] * sum;
    }
    return by_scale;
}

/* What f answers to by the columns of a stretch that touch the coefficients at a node. */
static double node_product(const struct cw_nodes *node, const double *by, size_t low, size_t n) {
    double sum = 0;
    if (node->first < low || node->first + 4 > low + n) return 0;
    for (size_t k = 0; k < 4; k++) sum += by[node->first - low + k] * node->weight[k];
    return sum;
}

/* What f answers to the lag by way of a height that was seen: what is shown of the basis motion,
 * and, with a lag below 0, where it is felt. by_row is what it answers to what was seen; shift, the
 * answers of the states' shift before that. */
static void add_felt_lag_slope(struct back *b, const struct cw_linear *linear,
                               const struct cw_kept_place *place, size_t at,
                               const struct cw_trail_seen *seen, const double *by_pz,
                               double by_innovation, const double *shift) {
    const struct cw_linear *there = b->later->linear;
    size_t tail = place->tail;
    double sum =
        -b->by_row[tail + CW_TAIL_DATA] * (there->shown_height_m[at] - linear->shown_height_m[at]);
    if (linear->lag_s < 0) {
        double by_slope = by_innovation * seen->pz[CW_STATE_SHIFT];
        for (size_t c = 0; c < place->width; c++) by_slope -= b->by_row[c] * shift[c];
        for (size_t k = 0; k < STATES; k++) by_slope += seen->p_shift[k] * by_pz[k];
        sum += by_slope * (there->felt_slope[at] - linear->felt_slope[at]);
        sum -= node_product(&there->felt_node[at], b->by_row, place->low, tail) -
               node_product(&linear->felt_node[at], b->by_row, place->low, tail);
    }
    b->by_lag += sum / b->later->by_s;
}

/* Back over an observation: row = e / sd, mean <- mean + pz e' / F, P <- P - pz pz' / F, and log F
 * is added; e = what it was - z' mean, F = sd2 = variance + z' pz, pz = P z. */
static void back_over_seen(struct back *b, const struct cw_linear *linear,
                           const struct cw_kept_place *place, size_t at,
                           const struct cw_trail_seen *seen, const double *row,
                           const double *shift) {
    size_t width = place->width;
    double part = 1 / seen->innovation, update[STATES], by_pz[STATES], by_update[STATES];
    for (size_t k = 0; k < STATES; k++) update[k] = seen->pz[k] * part;
    double by_scale = unlearn(b->own, row, b->by_mean, b->by_row, seen->z, update,
                              sqrt(seen->innovation), by_update, width);
    double by_innovation = part - part * by_scale;
    for (size_t i = 0; i < STATES; i++) {
        double sum = 0;
        for (size_t j = 0; j < STATES; j++) sum += b->by_p[i][j] * update[j];
        by_pz[i] = by_update[i] * part - 2 * sum;
        by_innovation += update[i] * (sum - by_update[i] * part);
    }
    for (size_t i = 0; i < STATES; i++) by_pz[i] += by_innovation * seen->z[i];
    if (seen->kind == CW_SEEN_HEIGHT)
        add_felt_lag_slope(b, linear, place, at, seen, by_pz, by_innovation, shift);
    for (size_t i = 0; i < STATES; i++)
        for (size_t j = 0; j < STATES; j++)
            b->by_p[i][j] += 0.5 * (by_pz[i] * seen->z[j] + seen->z[i] * by_pz[j]);
    for (size_t k = 0; k < RECORDING; k++)
        b->slope[recording[k]] += by_innovation * b->moved.by_kind[seen->kind][k];
}

/* by_mean <- T' by_mean. */
CW_WIDE static void move_back(double *by_mean, const double transition[STATES][STATES],
                              size_t width) {
    cw_transition_back(transition, by_mean, by_mean, width, width);
}

/* by_p <- T' by_p T. */
CW_WIDE static void covariance_back(double by_p[STATES][SIDE],
                                    const double transition[STATES][STATES]) {
    double product[STATES][SIDE], turned[STATES][SIDE] = {{0}};
    cw_transition_back(transition, *by_p, *product, SIDE, SIDE);
    cw_transition_turn(product, turned);
    cw_transition_back(transition, *turned, *by_p, SIDE, SIDE);
}

/* T P. */
CW_WIDE static void covariance_on(const double transition[STATES][STATES],
                                  const double p[STATES][SIDE], double tp[STATES][SIDE]) {
    cw_transition_on(transition, *p, NULL, *tp, SIDE, SIDE);
}

/* What f answers to a step's other transition and noise, mean <- T mean and P <- T P T' + Q; tp is
 * T P. */
CW_WIDE static double moved_by(double by_p[STATES][SIDE], const double *by_mean,
                               const struct cw_markov_step *moved,
                               const struct cw_markov_step *here, double tp[STATES][SIDE],
                               const double *mean, size_t width) {
    cw_four sums = {0};
    for (size_t i = 0; i < STATES; i++)
        for (size_t c = 0; c < SIDE; c += CW_FOUR)
            sums += *(const cw_four *)(by_p[i] + c) * (*(const cw_four *)(moved->noise[i] + c) -
                                                       *(const cw_four *)(here->noise[i] + c));
    double sum = sums[0] + sums[1] + sums[2] + sums[3];
#define CW_ADD(to, from)                                                                           \
    {                                                                                              \
        enum { TO = CW_STATE_##to, FROM = CW_STATE_##from };                                       \
        double by = moved->transition[TO][FROM] - here->transition[TO][FROM];                      \
        if (by != 0) {                                                                             \
            double answer = row_product(by_mean + TO * width, mean + FROM * width, width);         \
            for (size_t l = 0; l < STATES; l++) answer += 2 * by_p[TO][l] * tp[l][FROM];           \
            sum += by * answer;                                                                    \
        }                                                                                          \
    }
    CW_MARKOV_TERMS(CW_ADD)
#undef CW_ADD
    return sum;
}

static void add_step_slope(struct back *b, const struct cw_linear *linear,
                           const struct cw_trail_point *point, double tp[STATES][SIDE],
                           const double *mean, size_t width) {
    for (size_t k = 0; k < MOVING; k++) {
        struct cw_markov_step moved;
        cw_markov_step_moved(linear, point->at, &b->moved.paces[k], &point->step, &moved);
        b->slope[moving[k]] +=
            moved_by(b->by_p, b->by_mean, &moved, &point->step, tp, mean, width) / trifle;
    }
}

/* by' times what a step adds to the answers of how late heights are, over all columns. */
static double late_product(const struct cw_linear *linear, const struct cw_markov_step *step,
                           size_t i, const double *by, const struct cw_kept_place *place) {
    enum { LATE = CW_STATE_LATE };
    size_t low = place->low, n = place->tail;
    const double *tail = by + n;
    double lost =
        tail[CW_TAIL_CRR] * (linear->roll_m[i + 1] - linear->roll_m[i]) +
        tail[CW_TAIL_CDA] * (linear->drag_m[i + 1] - linear->drag_m[i]) +
        tail[CW_TAIL_BENDS] * (linear->bend_m[i + 1] - linear->bend_m[i]) +
        (tail[CW_TAIL_WIND] + tail[CW_TAIL_OWN_WIND]) * (linear->wind_m[i + 1] - linear->wind_m[i]);
    return step->here[LATE] * (node_product(&linear->node[i], by, low, n) +
                               tail[CW_TAIL_DATA] * linear->residual[i]) +
           step->there[LATE] * (node_product(&linear->node[i + 1], by, low, n) +
                                tail[CW_TAIL_DATA] * linear->residual[i + 1]) +
           step->felt_here[LATE] * node_product(&linear->felt_node[i], by, low, n) +
           step->felt_there[LATE] * node_product(&linear->felt_node[i + 1], by, low, n) +
           step->loss[LATE] * lost;
}

static void add_step_lag_slope(struct back *b, const struct cw_linear *linear,
                               const struct cw_kept_place *place,
                               const struct cw_trail_point *point, double tp[STATES][SIDE],
                               const double *mean) {
    struct cw_markov_step moved;
    const struct cw_linear *there = b->later->linear;
    const double *by = b->by_mean + CW_STATE_LATE * place->width;
    cw_markov_step_moved(there, point->at, &b->moved.later, &point->step, &moved);
    double sum = moved_by(b->by_p, b->by_mean, &moved, &point->step, tp, mean, place->width) +
                 late_product(there, &moved, point->at, by, place) -
                 late_product(linear, &point->step, point->at, by, place);
    b->by_lag += sum / b->later->by_s;
}

/* Back over a step: mean <- T mean + what drives it, P <- T P T' + Q. */
static void back_over_step(struct back *b, const struct cw_linear *linear,
                           const struct cw_kept_place *place, const struct cw_trail_point *point,
                           const double *mean) {
    double tp[STATES][SIDE];
    covariance_on(point->step.transition, point->p, tp);
    add_step_slope(b, linear, point, tp, mean, place->width);
    add_step_lag_slope(b, linear, place, point, tp, mean);
    move_back(b->by_mean, point->step.transition, place->width);
    covariance_back(b->by_p, point->step.transition);
}

/* Back over a stretch, which is filtered anew with a trail. */
static enum cw_status back_over(struct back *b, const struct cw_linear *linear,
                                const struct cw_noise *noise, const struct cw_kept_place *place) {
    struct cw_stretch *s = &b->w->stretch;
    struct cw_trail *trail = &b->w->trail;
    enum cw_status status = cw_trail_begin(trail, place->end - place->from, place->width);
    if (status < 0) return status;
    cw_stretch_begin(s, linear, place->from, place->end);
    memcpy(s->p, place->p, sizeof s->p);
    s->trail = trail;
    cw_stretch_filter(s, linear, noise, place->from, place->end);
    s->trail = NULL;
    enter(b, place);
    for (size_t i = place->end - place->from; i-- > 0;) {
        struct cw_trail_point *point = &trail->point[i];
        if (point->goes_on)
            back_over_step(b, linear, place, point, cw_trail_row(trail, i, CW_SEEN_KINDS));
        for (size_t k = point->n_seen; k-- > 0;)
            back_over_seen(b, linear, place, place->from + i, &point->seen[k],
                           cw_trail_row(trail, i, k), cw_trail_row(trail, i, CW_TRAIL_SHIFT));
    }
    return CW_OK;
}

/* x <- (L L')^-1 x, of n columns. */
static void solve(double factor[STATES][STATES], double *x, size_t n) {
    for (size_t k = 0; k < STATES; k++) {
        for (size_t j = 0; j < k; j++) add_times(x + k * n, -factor[k][j], x + j * n, n);
        for (size_t a = 0; a < n; a++) x[k * n + a] /= factor[k][k];
    }
    for (size_t k = STATES; k-- > 0;) {
        for (size_t j = k + 1; j < STATES; j++) add_times(x + k * n, -factor[j][k], x + j * n, n);
        for (size_t a = 0; a < n; a++) x[k * n + a] /= factor[k][k];
    }
}

/* What f answers to the states at the piece's end: with Y the answers to them and P their
 * covariance, tr(M Y' P^-1 Y) + log det P is in f. */
static void begin_back(struct back *b, const struct cw_linear *linear,
                       const struct cw_kept_place *last) {
    const struct cw_normal *normal = b->normal;
    size_t m = normal->n;
    memset(b->by_past, 0, STATES * m * sizeof(double));
    memset(b->by_p, 0, sizeof b->by_p);
    if (normal->end == linear->n) return;
    struct cw_whitener_end end = {.answer = b->next};
    cw_whitener_end(last->past, m, last->p, linear, normal, &end);
    double *solved = end.answer, inverse[STATES * STATES] = {0};
    for (size_t k = 0; k < STATES; k++) inverse[k * STATES + k] = 1;
    solve(end.factor, solved, m);
    solve(end.factor, inverse, STATES);
    for (size_t k = 0; k < STATES; k++)
        for (size_t a = 0; a < m; a++)
            if (solved[k * m + a] != 0)
                add_times(b->by_past + k * m, solved[k * m + a], b->moment + a * m, m);
    for (size_t i = 0; i < STATES; i++)
        for (size_t j = 0; j < STATES; j++) {
            double sum = 0;
            for (size_t a = 0; a < m; a++) sum += b->by_past[i * m + a] * solved[j * m + a];
            b->by_p[i][j] = inverse[i * STATES + j] - sum;
        }
    for (size_t k = 0; k < STATES * m; k++) b->by_past[k] *= 2;
}

static void moved_make(const struct cw_linear *linear, const struct cw_noise *noise,
                       const struct cw_later *later, struct moved *moved) {
    for (size_t k = 0; k < MOVING; k++) {
        moved->noise[k] = cw_noise_moved(noise, moving[k], trifle);
        cw_markov_paces_begin(&moved->paces[k], &moved->noise[k], linear->lag_s);
    }
    cw_markov_paces_begin(&moved->later, noise, later->linear->lag_s);
    for (enum cw_kind kind = 0; kind < CW_SEEN_KINDS; kind++)
        for (size_t k = 0; k < RECORDING; k++) {
            struct cw_noise there = cw_noise_moved(noise, recording[k], trifle);
            moved->by_kind[kind][k] = (cw_markov_variance(linear->data, kind, &there) -
                                       cw_markov_variance(linear->data, kind, noise)) /
                                      trifle;
        }
}

static void add_start_slope(struct back *b, const struct cw_linear *linear,
                            const struct cw_noise *noise) {
    double here[STATES][STATES], moved[STATES][STATES];
    cw_markov_start(linear, noise, here);
    for (size_t k = 0; k < MOVING; k++) {
        double sum = 0;
        cw_markov_start(linear, &b->moved.noise[k], moved);
        for (size_t i = 0; i < STATES; i++)
            for (size_t j = 0; j < STATES; j++) sum += b->by_p[i][j] * (moved[i][j] - here[i][j]);
        b->slope[moving[k]] += sum / trifle;
    }
    /* The lag: how far behind the run begins, and how well that is known. */
    const struct cw_linear *later = b->later->linear, *side[2] = {linear, later};
    size_t low = b->normal->first_node, nodes = b->normal->n_nodes,
           tail = cw_normal_tail(b->normal, linear);
    const double *late = b->by_past + CW_STATE_LATE * b->normal->n;
    double sum = 0;
    cw_markov_start(later, noise, moved);
    for (size_t i = 0; i < STATES; i++)
        for (size_t j = 0; j < STATES; j++) sum += b->by_p[i][j] * (moved[i][j] - here[i][j]);
    for (int k = 0; k < 2; k++)
        sum += (k ? 1 : -1) *
               (node_product(&side[k]->start_node, late, low, nodes) -
                node_product(&side[k]->felt_node[0], late, low, nodes) +
                late[tail + CW_TAIL_SHIFT] * (side[k]->start_slope - side[k]->felt_slope[0]));
    b->by_lag += sum / b->later->by_s;
}

enum cw_status cw_whiten_slope(struct cw_whitener *w, const struct cw_linear *linear,
                               const struct cw_noise *noise, const struct cw_normal *normal,
                               const struct cw_places *places, const struct cw_later *later,
                               const double *moment, double slope[CW_NOISE_PARAMETERS],
                               double *by_lag) {
    enum cw_status status = CW_OK;
    size_t m = normal->n, most = cw_fours(normal->n_nodes + CW_TAIL + STATES);
    size_t need = 2 * STATES * m + most * most + (STATES + 1) * most, stretches = places->n - 1;
    if (need > w->way_back_room) {
        free(w->way_back);
        w->way_back = malloc(need * sizeof *w->way_back);
        w->way_back_room = w->way_back ? need : 0;
        if (!w->way_back) return CW_E_MEMORY;
    }
    carry_first(normal, moment, &places->at[0]);
    for (size_t i = 1; i < stretches; i++)
        carry_on(normal, moment, &places->at[i - 1], &places->at[i]);
    struct back b = {.w = w, .normal = normal, .moment = moment, .later = later, .slope = slope};
    b.by_past = w->way_back;
    b.next = b.by_past + STATES * m;
    b.own = b.next + STATES * m;
    b.by_mean = b.own + most * most;
    b.by_row = b.by_mean + STATES * most;
    moved_make(linear, noise, later, &b.moved);
    cw_markov_paces_begin(&w->stretch.paces, noise, linear->lag_s);
    begin_back(&b, linear, &places->at[stretches]);
    for (size_t i = stretches; i-- > 0 && status >= 0;)
        status = back_over(&b, linear, noise, &places->at[i]);
    if (status >= 0 && !normal->from) add_start_slope(&b, linear, noise);
    *by_lag += b.by_lag;
    return status;
}
