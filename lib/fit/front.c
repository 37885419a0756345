#include "fit/front.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/moments.h"

enum { STATES = CW_STATES };

static size_t larger(size_t a, size_t b) {
    return a > b ? a : b;
}
static size_t smaller(size_t a, size_t b) {
    return a < b ? a : b;
}

/* The first of a piece's coefficients, as the road counts. */
static size_t first_node(const struct cw_joint *joint, size_t i, const struct cw_normal *normal) {
    const struct cw_run_data *data = &joint->data[i];
    return data->reversed ? joint->profile[data->road].n - normal->first_node - normal->n_nodes
                          : normal->first_node;
}

/* Which coefficients a front has in it and lets go: those that only pieces up to it touch, as far
 * as its own stretch of the road; but what is said of a road's smoothness speaks of four at once.
 */
static void plan_nodes(struct cw_fronts *road, const size_t *low, const size_t *high,
                       size_t nodes) {
    size_t reached = 0, first = 0;
    for (size_t k = 0; k < road->n; k++) {
        size_t gone = nodes;
        for (size_t later = k + 1; later < road->n; later++) gone = smaller(gone, low[later]);
        if (k + 1 < road->n) gone = smaller(gone, nodes * (k + 1) / road->n);
        gone = larger(gone, first);
        reached = larger(reached, larger(high[k], smaller(nodes, gone + 3)));
        road->front[k].first = first;
        road->front[k].gone = gone - first;
        road->front[k].n_nodes = reached - first;
        first = gone;
    }
}

enum cw_status cw_front_plan(const struct cw_joint *joint, const size_t *subset, size_t n,
                             size_t road, struct cw_joint_workspace *w, size_t *most,
                             struct cw_error *error) {
    struct cw_fronts *fronts = &w->road[road];
    size_t count = joint->pieces.n_fronts[road], nodes = joint->profile[road].n;
    size_t *low = malloc((3 * count + 1) * sizeof *low), *high, *crossing;
    bool any = false;
    if (!low) return cw_error_memory(error);
    high = low + count;
    crossing = high + count; /* runs that pass on over a cut, of which there is one behind each */
    for (size_t k = 0; k < count; k++) {
        low[k] = nodes;
        high[k] = crossing[k] = 0;
    }
    crossing[count] = 0;
    for (size_t slot = 0; slot < n; slot++) {
        size_t i = cw_joint_run_of(subset, slot);
        if (joint->data[i].road != road) continue;
        any = true;
        for (size_t p = joint->pieces.first[i]; p < joint->pieces.first[i + 1]; p++) {
            size_t k = joint->pieces.piece[p].front, at = first_node(joint, i, &w->normal[p]);
            low[k] = smaller(low[k], at);
            high[k] = larger(high[k], at + w->normal[p].n_nodes);
            if (p + 1 < joint->pieces.first[i + 1])
                w->crossing[p] = crossing[larger(k, joint->pieces.piece[p + 1].front)]++;
        }
    }
    fronts->shared = fronts->n_own + 1;
    fronts->front = any ? calloc(count, sizeof *fronts->front) : NULL;
    fronts->n = fronts->front ? count : 0;
    plan_nodes(fronts, low, high, nodes);
    for (size_t k = 0; k < fronts->n; k++) {
        struct cw_front *front = &fronts->front[k];
        front->n_in = STATES * crossing[k];
        front->n_out = STATES * crossing[k + 1];
        front->n = front->n_in + front->n_nodes + front->n_out + fronts->shared + w->layout.n;
        *most = larger(*most, front->n);
    }
    free(low);
    return any && !fronts->front ? cw_error_memory(error) : CW_OK;
}

static size_t border_of(const struct cw_front *front) {
    return front->n_in + front->n_nodes + front->n_out;
}

/* Where a piece's unknowns stand in its front's equations; CW_JOINT_NOWHERE where they don't, being
 * eliminated with the piece, or with the first of the run. to: room for as many as the piece has.
 */
static void place_piece(const struct cw_joint *joint, const struct cw_joint_workspace *w, size_t i,
                        size_t slot, size_t p, size_t *to) {
    const struct cw_normal *normal = &w->normal[p];
    const struct cw_run_data *data = &joint->data[i];
    const struct cw_front *front = &w->road[data->road].front[joint->pieces.piece[p].front];
    size_t first = front->n_in + first_node(joint, i, normal) - front->first, low = 0,
           high = front->n_in + front->n_nodes, tail = cw_normal_tail(normal, &joint->linear[i]);
    for (size_t a = 0; a < normal->n_nodes; a++)
        to[a] = data->reversed ? first + normal->n_nodes - 1 - a : first + a;
    for (size_t k = 0; k < STATES; k++) {
        if (normal->from)
            to[cw_normal_begin(normal) + k] =
                (data->reversed ? high : low) + STATES * w->crossing[p - 1] + k;
        if (cw_normal_end(normal) < tail)
            to[cw_normal_end(normal) + k] =
                (data->reversed ? low : high) + STATES * w->crossing[p] + k;
    }
    for (enum cw_tail t = 0; t < CW_TAIL; t++) {
        size_t at = cw_joint_border(joint, w, i, slot, t);
        to[tail + t] = at == CW_JOINT_NOWHERE ? at : border_of(front) + at;
    }
}

/* Puts a piece's equations into w->run and eliminates what goes with it. */
static bool make_piece(const struct cw_joint *joint, size_t i, size_t slot, size_t p,
                       struct cw_joint_workspace *w) {
    static const enum cw_tail own[CW_JOINT_OWN] = {CW_TAIL_ENERGY, CW_TAIL_SHIFT, CW_TAIL_OFFSET,
                                                   CW_TAIL_OWN_WIND, CW_TAIL_SCALE};
    const struct cw_normal *normal = &w->normal[p];
    size_t tail = cw_normal_tail(normal, &joint->linear[i]);
    memcpy(w->run.a, normal->product, normal->n * normal->n * sizeof(double));
    w->run.n = normal->n;
    w->log_det += normal->log_det;
    for (size_t o = 0; o < CW_JOINT_OWN; o++) {
        size_t at = tail + own[o];
        double basis;
        if (!cw_joint_with_piece(joint, w, i, p, own[o])) continue;
        struct cw_prior prior = cw_joint_own_prior(joint, w, i, own[o], &basis);
        cw_equations_add_prior(&w->run, at, basis, prior);
        if (!cw_equations_eliminate(&w->run, at, 0, w->row, &w->log_det)) return false;
        double *kept = w->own ? cw_joint_own(w, slot, own[o]) : NULL;
        for (size_t j = 0; j < normal->n; j++) {
            if (kept) kept[j] = *cw_equations_at(&w->run, at, j);
            *cw_equations_at(&w->run, at, j) = 0;
        }
    }
    return true;
}

/* Adds w->run to the front's equations. */
static void add_piece(struct cw_joint_workspace *w, const size_t *to) {
    size_t n = w->run.n;
    for (size_t a = 0; a < n; a++) {
        if (to[a] == CW_JOINT_NOWHERE) continue;
        const double *from = w->run.a + a * n;
        for (size_t b = a; b < n; b++)
            if (to[b] != CW_JOINT_NOWHERE) *cw_equations_at(&w->front, to[a], to[b]) += from[b];
    }
}

/* The front after the one whose eliminated equations are in w->front, in its place: what that
 * leaves of nodes, states and border. before: NULL for a road's first. */
static void begin_front(struct cw_joint_workspace *w, const struct cw_front *before,
                        const struct cw_front *front) {
    struct cw_equations left = w->front;
    w->front = w->behind;
    w->behind = left;
    w->front.n = front->n;
    memset(w->front.a, 0, front->n * front->n * sizeof(double));
    if (!before) return;
    /* from, to and how many: the nodes and, behind them, the states come in the other order */
    size_t nodes = before->n_in + before->gone, states = before->n_in + before->n_nodes,
           border = border_of(before);
    const size_t part[3][3] = {{states, 0, border - states},
                               {nodes, front->n_in, states - nodes},
                               {border, border_of(front), before->n - border}};
    for (int a = 0; a < 3; a++)
        for (int b = a; b < 3; b++)
            for (size_t i = 0; i < part[a][2]; i++)
                for (size_t j = a == b ? i : 0; j < part[b][2]; j++)
                    w->front.a[(part[a][1] + i) * front->n + part[b][1] + j] =
                        *cw_equations_at(&left, part[a][0] + i, part[b][0] + j);
}

static bool eliminate_first(struct cw_joint_workspace *w, struct cw_equations *e, size_t count) {
    for (size_t p = 0; p < count; p++)
        if (!cw_equations_eliminate(e, p, p + 1, w->row, &w->log_det)) return false;
    return true;
}

static enum cw_status keep_rows(const struct cw_equations *e, size_t count, double **row,
                                struct cw_error *error) {
    *row = malloc((count ? count : 1) * e->n * sizeof **row);
    if (!*row) return cw_error_memory(error);
    memcpy(*row, e->a, count * e->n * sizeof **row);
    return CW_OK;
}

/* Once a road's fronts are through: what runs in pieces have of their own, and the mean second
 * difference. The rest joins what roads share. */
static enum cw_status eliminate_border(const struct cw_joint *joint, const size_t *subset, size_t n,
                                       size_t road, struct cw_joint_workspace *w,
                                       struct cw_error *error) {
    struct cw_fronts *fronts = &w->road[road];
    const struct cw_front none = {.n = fronts->shared + w->layout.n};
    begin_front(w, &fronts->front[fronts->n - 1], &none);
    for (size_t slot = 0; slot < n; slot++) {
        size_t i = cw_joint_run_of(subset, slot);
        if (joint->data[i].road != road) continue;
        for (enum cw_tail t = 0; t <= CW_TAIL_SCALE; t++) {
            double basis;
            if (!cw_joint_is_own(joint, w, i, t)) continue;
            size_t at = cw_joint_border(joint, w, i, slot, t);
            if (at == CW_JOINT_NOWHERE) continue;
            struct cw_prior prior = cw_joint_own_prior(joint, w, i, t, &basis);
            cw_equations_add_prior(&w->front, at, basis, prior);
        }
    }
    cw_ground_add_bend(fronts->n_own, &w->front, &w->log_det);
    if (!eliminate_first(w, &w->front, fronts->shared)) return cw_joint_no_solution(error);
    size_t shared = w->layout.n, all = w->front.n;
    for (size_t a = 0; a < shared; a++)
        for (size_t b = a; b < shared; b++)
            w->shared.a[a * shared + b] +=
                w->front.a[(fronts->shared + a) * all + fronts->shared + b];
    return w->keeps ? keep_rows(&w->front, fronts->shared, &fronts->row, error) : CW_OK;
}

/* Where what is known of the ground stands in a front. */
static struct cw_ground_place ground_place(const struct cw_front *front, size_t n_own) {
    return (struct cw_ground_place){.from = front->first,
                                    .to = front->first + front->gone,
                                    .at = front->n_in,
                                    .bend = border_of(front) + n_own};
}

enum cw_status cw_front_eliminate(const struct cw_joint *joint, const size_t *subset, size_t n,
                                  size_t road, const struct cw_noise *noise,
                                  struct cw_joint_workspace *w, struct cw_error *error) {
    struct cw_fronts *fronts = &w->road[road];
    size_t *to = malloc(w->most * sizeof *to);
    enum cw_status status = to ? CW_OK : cw_error_memory(error);
    for (size_t k = 0; k < fronts->n && status >= 0; k++) {
        struct cw_front *front = &fronts->front[k];
        begin_front(w, k ? front - 1 : NULL, front);
        for (size_t slot = 0; slot < n && status >= 0; slot++) {
            size_t i = cw_joint_run_of(subset, slot);
            if (joint->data[i].road != road) continue;
            for (size_t p = joint->pieces.first[i]; p < joint->pieces.first[i + 1]; p++) {
                if (joint->pieces.piece[p].front != k) continue;
                if (!make_piece(joint, i, slot, p, w)) {
                    status = cw_joint_no_solution(error);
                    break;
                }
                place_piece(joint, w, i, slot, p, to);
                add_piece(w, to);
            }
        }
        if (status < 0) break;
        struct cw_ground_place place = ground_place(front, fronts->n_own);
        cw_ground_add(&joint->ground[road], &joint->profile[road], noise, &place, &w->front,
                      &w->log_det);
        if (!eliminate_first(w, &w->front, front->n_in + front->gone))
            status = cw_joint_no_solution(error);
        else if (w->keeps)
            status = keep_rows(&w->front, front->n_in + front->gone, &front->row, error);
    }
    if (status >= 0) status = eliminate_border(joint, subset, n, road, w, error);
    free(to);
    return status;
}

/* The scale of run i's recording, which went with its only piece, from the values of that one's
 * front. to: where the piece's unknowns stand in it. */
static double own_scale(const struct cw_joint_workspace *w, size_t slot,
                        const struct cw_normal *normal, const double *value, const size_t *to) {
    const double *row = cw_joint_own(w, slot, CW_TAIL_SCALE);
    size_t tail = normal->n - CW_TAIL;
    double sum = row[normal->n - 1];
    for (size_t a = 0; a + 1 < normal->n; a++)
        if (to[a] != CW_JOINT_NOWHERE) sum += row[a] * value[to[a]];
    return -sum / row[tail + CW_TAIL_SCALE];
}

enum cw_status cw_front_give_back(struct cw_joint *joint, size_t road,
                                  const struct cw_joint_workspace *w, const double *shared,
                                  double *scale, struct cw_error *error) {
    const struct cw_fronts *fronts = &w->road[road];
    struct cw_profile *profile = &joint->profile[road];
    size_t most = 0, n_border = fronts->shared + w->layout.n;
    for (size_t k = 0; k < fronts->n; k++) most = larger(most, fronts->front[k].n);
    double *value = calloc(2 * most, sizeof *value), *behind = value + most;
    size_t *to = malloc(w->most * sizeof *to);
    enum cw_status status = value && to ? CW_OK : cw_error_memory(error);
    if (status < 0) goto cleanup;
    struct cw_equations rows = {n_border, fronts->row};
    memcpy(behind + fronts->shared, shared, w->layout.data * sizeof *behind);
    for (size_t p = fronts->shared; p-- > 0;) behind[p] = cw_equations_give_back(&rows, p, behind);
    for (size_t i = 0; i < joint->n_runs; i++)
        if (joint->data[i].road == road && cw_joint_is_own(joint, w, i, CW_TAIL_SCALE)) {
            size_t at = cw_joint_border(joint, w, i, i, CW_TAIL_SCALE);
            if (at != CW_JOINT_NOWHERE) scale[joint->data[i].recording] += behind[at];
        }
    for (size_t k = fronts->n; k-- > 0;) {
        const struct cw_front *front = &fronts->front[k], *after = front + 1;
        size_t nodes = front->n_in + front->gone, states = front->n_in + front->n_nodes,
               border = border_of(front);
        bool last = k + 1 == fronts->n;
        memcpy(value + border, behind + (last ? 0 : border_of(after)), n_border * sizeof *value);
        if (!last) {
            memcpy(value + states, behind, (border - states) * sizeof *value);
            memcpy(value + nodes, behind + after->n_in, (states - nodes) * sizeof *value);
        }
        rows = (struct cw_equations){front->n, front->row};
        for (size_t p = nodes; p-- > 0;) value[p] = cw_equations_give_back(&rows, p, value);
        for (size_t p = 0; p < front->gone; p++)
            profile->coefficient_m[front->first + p] += value[front->n_in + p];
        for (size_t i = 0; i < joint->n_runs; i++) {
            size_t p = joint->pieces.first[i];
            if (joint->data[i].road != road || joint->pieces.piece[p].front != k) continue;
            if (!cw_joint_with_piece(joint, w, i, p, CW_TAIL_SCALE)) continue;
            place_piece(joint, w, i, i, p, to);
            scale[joint->data[i].recording] += own_scale(w, i, &w->normal[p], value, to);
        }
        memcpy(behind, value, front->n * sizeof *value);
    }
cleanup:
    free(value);
    free(to);
    return status;
}

/* Room for the way back through a road: moments of two fronts, what the ground adds. */
struct way_back {
    double *moment, *behind, *room, *ground;
    size_t *to;
};

static enum cw_status way_back_alloc(const struct cw_fronts *fronts,
                                     const struct cw_joint_workspace *w, struct way_back *back,
                                     struct cw_error *error) {
    size_t most = fronts->shared + w->layout.n, nodes = 0;
    for (size_t k = 0; k < fronts->n; k++) {
        most = larger(most, fronts->front[k].n);
        nodes = larger(nodes, fronts->front[k].n_nodes);
    }
    back->moment = malloc(most * most * sizeof(double));
    back->behind = malloc(most * most * sizeof(double));
    back->room = malloc(2 * larger(most, w->most) * sizeof(double));
    back->ground = malloc((nodes + 2) * (nodes + 2) * sizeof(double));
    back->to = malloc(w->most * sizeof *back->to);
    return back->moment && back->behind && back->room && back->ground && back->to
               ? CW_OK
               : cw_error_memory(error);
}

static void way_back_free(struct way_back *back) {
    free(back->moment);
    free(back->behind);
    free(back->room);
    free(back->ground);
    free(back->to);
}

/* Sum of moment times what the ground adds to a front, and its part of the log determinant. */
static double ground_of(const struct cw_joint *joint, size_t road, const struct cw_front *front,
                        size_t n_own, const struct cw_noise *noise, struct way_back *back) {
    size_t n = front->n_nodes + 2;
    struct cw_equations e = {n, back->ground};
    struct cw_ground_place place = ground_place(front, n_own);
    size_t bend = place.bend;
    double sum = 0;
    place.at = 0;
    place.bend = front->n_nodes;
    memset(e.a, 0, n * n * sizeof *e.a);
    cw_ground_add(&joint->ground[road], &joint->profile[road], noise, &place, &e, &sum);
    for (size_t i = 0; i < n; i++)
        for (size_t j = i; j < n; j++) {
            if (e.a[i * n + j] == 0) continue;
            size_t at[2] = {i, j};
            for (int k = 0; k < 2; k++)
                at[k] = at[k] < front->n_nodes    ? front->n_in + at[k]
                        : at[k] == front->n_nodes ? bend
                                                  : front->n - 1;
            sum += (i == j ? 1 : 2) * e.a[i * n + j] * back->moment[at[0] * front->n + at[1]];
        }
    return sum;
}

static void add_ground_slope(const struct cw_joint *joint, size_t road,
                             const struct cw_front *front, size_t n_own,
                             const struct cw_noise *noise, struct way_back *back, double *slope) {
    static const double step = 1e-3;
    static const enum cw_noise_parameter number[] = {CW_NOISE_ROUGHNESS, CW_NOISE_MAP_SD,
                                                     CW_NOISE_MAP_LENGTH};
    for (size_t k = 0; k < (joint->ground[road].n ? 3 : 1); k++) {
        double side[2];
        for (int up = 0; up < 2; up++) {
            struct cw_noise moved = cw_noise_moved(noise, number[k], expm1(up ? step : -step));
            side[up] = ground_of(joint, road, front, n_own, &moved, back);
        }
        slope[number[k]] += (side[1] - side[0]) / (2 * step);
    }
}

/* A piece's moments from its front's, which has n unknowns and data. */
static void piece_moments(const struct cw_joint *joint, size_t i, size_t slot, size_t p,
                          const struct cw_joint_workspace *w, size_t n, struct way_back *back,
                          double *moment) {
    static const enum cw_tail own[CW_JOINT_OWN] = {CW_TAIL_SCALE, CW_TAIL_OWN_WIND, CW_TAIL_OFFSET,
                                                   CW_TAIL_SHIFT, CW_TAIL_ENERGY};
    const struct cw_normal *normal = &w->normal[p];
    size_t m = normal->n, tail = cw_normal_tail(normal, &joint->linear[i]), *to = back->to;
    place_piece(joint, w, i, slot, p, to);
    memset(moment, 0, m * m * sizeof *moment);
    for (size_t a = 0; a < m; a++)
        for (size_t b = 0; b < m && to[a] != CW_JOINT_NOWHERE; b++)
            if (to[b] != CW_JOINT_NOWHERE) moment[a * m + b] = back->moment[to[a] * n + to[b]];
    for (size_t o = 0; o < CW_JOINT_OWN; o++)
        if (cw_joint_with_piece(joint, w, i, p, own[o]))
            cw_moments_add(cw_joint_own(w, slot, own[o]), tail + own[o], m, moment, back->room);
}

/* From the moments of the front after it, or of the border, to a front's. */
static void begin_moments(const struct cw_front *front, const struct cw_front *after,
                          struct way_back *back) {
    double *left = back->moment;
    back->moment = back->behind;
    back->behind = left;
    size_t nodes = front->n_in + front->gone, states = front->n_in + front->n_nodes,
           border = border_of(front), n = front->n;
    const size_t part[3][3] = {{states, 0, border - states},
                               {nodes, after->n_in, states - nodes},
                               {border, border_of(after), n - border}};
    memset(back->moment, 0, n * n * sizeof(double));
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            for (size_t i = 0; i < part[a][2]; i++)
                memcpy(back->moment + (part[a][0] + i) * n + part[b][0],
                       left + (part[a][1] + i) * after->n + part[b][1],
                       part[b][2] * sizeof(double));
}

enum cw_status cw_front_moments(const struct cw_joint *joint, const size_t *subset, size_t n,
                                size_t road, const struct cw_noise *noise,
                                const struct cw_joint_workspace *w, const double *shared,
                                double **moment, double *slope, struct cw_error *error) {
    const struct cw_fronts *fronts = &w->road[road];
    struct way_back back = {0};
    enum cw_status status = way_back_alloc(fronts, w, &back, error);
    if (status < 0) goto cleanup;
    const struct cw_front none = {.n = fronts->shared + w->layout.n};
    struct cw_equations rows = {none.n, fronts->row};
    memset(back.moment, 0, none.n * none.n * sizeof(double));
    for (size_t a = 0; a < w->layout.n; a++)
        memcpy(back.moment + (fronts->shared + a) * none.n + fronts->shared,
               shared + a * w->layout.n, w->layout.n * sizeof(double));
    cw_moments_add_all(&rows, fronts->shared, back.moment, back.room);
    for (size_t k = fronts->n; k-- > 0 && status >= 0;) {
        const struct cw_front *front = &fronts->front[k];
        begin_moments(front, k + 1 == fronts->n ? &none : front + 1, &back);
        rows = (struct cw_equations){front->n, front->row};
        cw_moments_add_all(&rows, front->n_in + front->gone, back.moment, back.room);
        add_ground_slope(joint, road, front, fronts->n_own, noise, &back, slope);
        for (size_t slot = 0; slot < n && status >= 0; slot++) {
            size_t i = cw_joint_run_of(subset, slot);
            if (joint->data[i].road != road) continue;
            for (size_t p = joint->pieces.first[i]; p < joint->pieces.first[i + 1] && status >= 0;
                 p++) {
                if (joint->pieces.piece[p].front != k) continue;
                size_t m = w->normal[p].n;
                moment[p] = malloc(m * m * sizeof *moment[p]);
                if (moment[p])
                    piece_moments(joint, i, slot, p, w, front->n, &back, moment[p]);
                else
                    status = cw_error_memory(error);
            }
        }
    }
cleanup:
    way_back_free(&back);
    return status;
}
