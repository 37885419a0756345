/* The slope of the restricted likelihood by the noise: the way back through elimination.
 *
 * Eliminating all unknowns u of a symmetric matrix A, data last, leaves f = log det + what is left
 * of A[data][data]. It answers to A by the unknowns' second moments, E u u' with 1 for the data:
 * their covariance, the inverse, and the product of what they come out as. Those are had from the
 * eliminated rows, last to first (Takahashi, Fagan & Chin 1973): of row p,
 *
 *     M[p][j] = -sum of A[p][k] M[k][j] / A[p][p], over k > p
 *     M[p][p] = (1 - sum of A[p][k] M[k][p]) / A[p][p].
 *
 * What is shared comes first, then each road's profile, then each run's own, whose moments the
 * filter's way back takes (cw_whiten_slope). */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/wide.h"
#include "fit/joint_equations.h"

/* Moments of unknown p of n from its eliminated row and those of the others; those of unknowns that
 * went before it, and its own, are 0 as yet. */
CW_WIDE static void add_moments(const double *restrict row, size_t p, size_t n,
                                double *restrict moment, double *restrict room) {
    double own = 1;
    memset(room, 0, n * sizeof *room);
    for (size_t k = 0; k < n; k++)
        if (row[k] != 0 && k != p)
            for (size_t j = 0; j < n; j++) room[j] += row[k] * moment[k * n + j];
    for (size_t j = 0; j < n; j++) {
        double both = -room[j] / row[p];
        moment[p * n + j] = moment[j * n + p] = both;
        if (j != p) own -= row[j] * both;
    }
    moment[p * n + p] = own / row[p];
}

/* The same for the first of them, eliminated one after the other; rows as wide as the moments. */
static void add_all_moments(const struct cw_equations *rows, size_t count, double *moment,
                            double *room) {
    size_t n = rows->n;
    double *row = room + n;
    for (size_t p = count; p-- > 0;) {
        memset(row, 0, p * sizeof *row);
        memcpy(row + p, rows->a + p * n + p, (n - p) * sizeof *row);
        add_moments(row, p, n, moment, room);
    }
}

/* Sum of moment times what the ground adds to a profile's equations, and its part of the log
 * determinant. e: room for them. */
static double ground_of(const struct cw_ground *ground, const struct cw_profile *profile,
                        const struct cw_noise *noise, const double *moment, size_t n, size_t data,
                        struct cw_equations *e) {
    double sum = 0;
    memset(e->a, 0, e->n * e->n * sizeof *e->a);
    cw_ground_add(ground, profile, noise, e, &sum);
    for (size_t i = 0; i < e->n; i++)
        for (size_t j = i; j < e->n; j++)
            sum += (i == j ? 1 : 2) * e->a[i * e->n + j] *
                   moment[(i < profile->n ? i : data) * n + (j < profile->n ? j : data)];
    return sum;
}

static void add_ground_slope(const struct cw_ground *ground, const struct cw_profile *profile,
                             const struct cw_noise *noise, const double *moment, size_t n,
                             size_t data, struct cw_equations *e, double *slope) {
    static const double step = 1e-3;
    static const enum cw_noise_parameter number[] = {CW_NOISE_ROUGHNESS, CW_NOISE_MAP_SD,
                                                     CW_NOISE_MAP_LENGTH};
    for (size_t k = 0; k < (ground->n ? 3 : 1); k++) {
        double side[2];
        for (int up = 0; up < 2; up++) {
            struct cw_noise moved = cw_noise_moved(noise, number[k], expm1(up ? step : -step));
            side[up] = ground_of(ground, profile, &moved, moment, n, data, e);
        }
        slope[number[k]] += (side[1] - side[0]) / (2 * step);
    }
}

/* Room for the moments of what is shared, of a road and of a run. */
struct moments {
    double *shared, *road, *run, *room, *ground;
};

static enum cw_status moments_alloc(const struct cw_joint *joint,
                                    const struct cw_joint_workspace *w, struct moments *m,
                                    struct cw_error *error) {
    size_t road = joint->most_nodes + w->layout.n, ground = joint->most_nodes + 1;
    m->shared = calloc(w->layout.n * w->layout.n, sizeof *m->shared);
    m->road = malloc(road * road * sizeof *m->road);
    m->run = malloc(w->most * w->most * sizeof *m->run);
    m->room = malloc(2 * road * sizeof *m->room);
    m->ground = malloc(ground * ground * sizeof *m->ground);
    return m->shared && m->road && m->run && m->room && m->ground ? CW_OK : cw_error_memory(error);
}

static void moments_free(struct moments *m) {
    free(m->shared);
    free(m->road);
    free(m->run);
    free(m->room);
    free(m->ground);
}

/* The slope's part of run i, from its road's moments, which are of n unknowns. */
static enum cw_status add_run_slope(const struct cw_joint *joint, size_t i, size_t slot,
                                    const struct cw_noise *noise,
                                    const struct cw_joint_workspace *w, size_t n, struct moments *m,
                                    double *slope) {
    struct cw_normal normal = cw_joint_normal(joint, i);
    size_t tail = normal.n_nodes, nodes = n - w->layout.n, to[CW_TAIL];
    cw_joint_tail_to(joint, w, i, slot, to);
    memset(m->run, 0, normal.n * normal.n * sizeof *m->run);
    for (size_t a = 0; a < normal.n; a++)
        for (size_t b = 0; b < normal.n; b++) {
            size_t at[2] = {a, b};
            bool own = false;
            for (int k = 0; k < 2; k++) {
                own = own || (at[k] >= tail &&
                              cw_joint_with_run(joint, w, i, (enum cw_tail)(at[k] - tail)));
                if (own) break;
                if (at[k] >= tail)
                    at[k] = to[at[k] - tail];
                else
                    at[k] = joint->data[i].reversed ? nodes - 1 - normal.first_node - at[k]
                                                    : normal.first_node + at[k];
            }
            if (!own) m->run[a * normal.n + b] = m->road[at[0] * n + at[1]];
        }
    if (cw_joint_with_run(joint, w, i, CW_TAIL_SCALE))
        add_moments(cw_joint_own(w, slot, CW_TAIL_SCALE), tail + CW_TAIL_SCALE, normal.n, m->run,
                    m->room);
    for (size_t p = CW_OWN; p-- > 0;)
        add_moments(cw_joint_own(w, slot, (enum cw_tail)p), tail + p, normal.n, m->run, m->room);
    return cw_whiten_slope(joint->whitener, &joint->linear[i], noise, &normal, m->run, slope);
}

static enum cw_status add_slope(const struct cw_joint *joint, const size_t *subset, size_t n,
                                const struct cw_noise *noise, const struct cw_joint_workspace *w,
                                double *slope, struct cw_error *error) {
    struct moments m = {0};
    size_t shared = w->layout.n;
    enum cw_status status = moments_alloc(joint, w, &m, error);
    if (status < 0) goto cleanup;
    m.shared[w->layout.data * shared + w->layout.data] = 1;
    add_all_moments(&w->shared, w->layout.data, m.shared, m.room);
    for (size_t road = 0; road < joint->n_roads && status >= 0; road++) {
        size_t nodes = joint->profile[road].n, all = nodes + shared;
        if (!w->kept[road].a) continue;
        memset(m.road, 0, all * all * sizeof *m.road);
        for (size_t a = 0; a < shared; a++)
            memcpy(m.road + (nodes + a) * all + nodes, m.shared + a * shared,
                   shared * sizeof *m.road);
        add_all_moments(&w->kept[road], nodes, m.road, m.room);
        struct cw_equations ground = {.n = nodes + 1, .a = m.ground};
        add_ground_slope(&joint->ground[road], &joint->profile[road], noise, m.road, all,
                         nodes + w->layout.data, &ground, slope);
        for (size_t k = 0; k < n && status >= 0; k++) {
            size_t i = subset ? subset[k] : k;
            if (joint->data[i].road != road) continue;
            status = add_run_slope(joint, i, k, noise, w, all, &m, slope);
            if (status < 0) status = cw_error_memory(error);
        }
    }
cleanup:
    moments_free(&m);
    return status;
}

enum cw_status cw_joint_slope(const struct cw_joint *joint, const size_t *subset, size_t n,
                              const struct cw_noise *noise, double *minus_2_log_likelihood,
                              double slope[CW_NOISE_PARAMETERS], struct cw_error *error) {
    struct cw_joint_workspace w;
    enum cw_status status = cw_joint_workspace_alloc(joint, subset, n, &w, error);
    if (status < 0) return status;
    memset(slope, 0, CW_NOISE_PARAMETERS * sizeof *slope);
    status = cw_joint_keep(joint, n, &w, error);
    if (status >= 0)
        status = cw_joint_likelihood(joint, subset, n, noise, &w, NULL, NULL,
                                     minus_2_log_likelihood, error);
    if (status >= 0) status = add_slope(joint, subset, n, noise, &w, slope, error);
    cw_joint_workspace_free(joint, &w);
    return status;
}
