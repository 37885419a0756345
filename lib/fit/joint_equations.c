#include "fit/joint_equations.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Of what is not asked for: were it nothing, the equations would be singular. */
static const double held_sd = 1e-6;

static struct cw_joint_layout layout_make(const struct cw_joint *joint, size_t n_scales,
                                          size_t n_runs) {
    struct cw_joint_layout l = {0};
    l.bends = l.scale + n_scales;
    l.wind = l.bends + 1;
    l.crr = l.wind + 1;
    l.cda = l.crr + joint->n_tyres;
    l.data = l.cda + n_runs;
    l.n = l.data + 1;
    return l;
}

void cw_joint_workspace_free(const struct cw_joint *joint, struct cw_joint_workspace *w) {
    for (size_t road = 0; w->kept && road < joint->n_roads; road++) free(w->kept[road].a);
    free(w->kept);
    free(w->own);
    free(w->run.a);
    free(w->profile.a);
    free(w->shared.a);
    free(w->row);
    free(w->scale_of);
    free(w->recording);
    *w = (struct cw_joint_workspace){0};
}

/* Which scales runs share, and their numbers; *n_scales is how many they are. One of a recording
 * with but a run of the subset goes with that run, where that may be. */
static enum cw_status number_scales(const struct cw_joint *joint, const size_t *subset, size_t n,
                                    bool with_run, struct cw_joint_workspace *w, size_t *n_scales,
                                    struct cw_error *error) {
    *n_scales = 0;
    w->scale_of = malloc(joint->n_recordings * sizeof *w->scale_of);
    w->recording = malloc(n * sizeof *w->recording);
    if (!w->scale_of || !w->recording) return cw_error_memory(error);
    for (size_t r = 0; r < joint->n_recordings; r++) w->scale_of[r] = 0;
    for (size_t k = 0; k < n; k++) w->scale_of[joint->data[subset ? subset[k] : k].recording]++;
    for (size_t r = 0; r < joint->n_recordings; r++) {
        if (w->scale_of[r] <= (with_run ? 1 : 0)) {
            w->scale_of[r] = CW_JOINT_WITH_RUN;
            continue;
        }
        w->recording[*n_scales] = r;
        w->scale_of[r] = (*n_scales)++;
    }
    return CW_OK;
}

static enum cw_status workspace_make(const struct cw_joint *joint, const size_t *subset, size_t n,
                                     bool with_run, struct cw_joint_workspace *w,
                                     struct cw_error *error) {
    size_t n_scales;
    *w = (struct cw_joint_workspace){0};
    enum cw_status status = number_scales(joint, subset, n, with_run, w, &n_scales, error);
    if (status < 0) {
        cw_joint_workspace_free(joint, w);
        return status;
    }
    w->layout = layout_make(joint, n_scales, n);
    w->most = joint->most_nodes + CW_TAIL;
    size_t shared = w->layout.n, run = w->most, profile = joint->most_nodes + shared;
    w->shared.n = shared;
    w->run.a = malloc(run * run * sizeof(double));
    w->profile.a = malloc(profile * profile * sizeof(double));
    w->shared.a = calloc(shared * shared, sizeof(double));
    w->row = malloc((run > profile ? run : profile) * sizeof(double));
    if (!w->run.a || !w->profile.a || !w->shared.a || !w->row) {
        cw_joint_workspace_free(joint, w);
        return cw_error_memory(error);
    }
    return CW_OK;
}

enum cw_status cw_joint_workspace_alloc(const struct cw_joint *joint, const size_t *subset,
                                        size_t n, struct cw_joint_workspace *w,
                                        struct cw_error *error) {
    return workspace_make(joint, subset, n, true, w, error);
}

enum cw_status cw_joint_keep(const struct cw_joint *joint, size_t n, struct cw_joint_workspace *w,
                             struct cw_error *error) {
    w->kept = calloc(joint->n_roads, sizeof *w->kept);
    w->own = malloc(n * CW_JOINT_OWN * w->most * sizeof *w->own);
    return w->kept && w->own ? CW_OK : cw_error_memory(error);
}

bool cw_joint_with_run(const struct cw_joint *joint, const struct cw_joint_workspace *w, size_t i,
                       enum cw_tail tail) {
    return tail < CW_OWN ||
           (tail == CW_TAIL_SCALE && w->scale_of[joint->data[i].recording] == CW_JOINT_WITH_RUN);
}

static double *own_row(const struct cw_joint_workspace *w, size_t slot, enum cw_tail tail) {
    return w->own + (slot * CW_JOINT_OWN + (tail < CW_OWN ? tail : CW_OWN)) * w->most;
}

const double *cw_joint_own(const struct cw_joint_workspace *w, size_t slot, enum cw_tail tail) {
    return own_row(w, slot, tail);
}

struct cw_normal cw_joint_normal(const struct cw_joint *joint, size_t i) {
    const struct cw_linear *linear = &joint->linear[i];
    size_t low = linear->start_node.first, high = low + 4;
    for (size_t j = 0; j < linear->n; j++) {
        const size_t first[2] = {linear->node[j].first, linear->felt_node[j].first};
        for (int k = 0; k < 2; k++) {
            if (first[k] < low) low = first[k];
            if (first[k] + 4 > high) high = first[k] + 4;
        }
    }
    return (struct cw_normal){.first_node = low, .n_nodes = high - low, .n = high - low + CW_TAIL};
}

void cw_joint_tail_to(const struct cw_joint *joint, const struct cw_joint_workspace *w, size_t i,
                      size_t slot, size_t to[CW_TAIL]) {
    const struct cw_run_data *data = &joint->data[i];
    size_t nodes = joint->profile[data->road].n;
    to[CW_TAIL_CRR] = nodes + w->layout.crr + data->tyres;
    to[CW_TAIL_CDA] = nodes + w->layout.cda + slot;
    to[CW_TAIL_BENDS] = nodes + w->layout.bends;
    to[CW_TAIL_WIND] = nodes + w->layout.wind;
    to[CW_TAIL_SCALE] = cw_joint_with_run(joint, w, i, CW_TAIL_SCALE)
                            ? CW_JOINT_WITH_RUN
                            : nodes + w->layout.scale + w->scale_of[data->recording];
    to[CW_TAIL_DATA] = nodes + w->layout.data;
}

/* Eliminates an unknown of a run's own from w->run. */
static bool eliminate_own(struct cw_joint_workspace *w, size_t slot, size_t p, enum cw_tail tail) {
    if (!cw_equations_eliminate(&w->run, p, 0, w->row, &w->log_det)) return false;
    double *own = w->own ? own_row(w, slot, tail) : NULL;
    for (size_t j = 0; j < w->run.n; j++) {
        if (own) own[j] = *cw_equations_at(&w->run, p, j);
        *cw_equations_at(&w->run, p, j) = 0;
    }
    return true;
}

/* Whitens run i into w->run and frees it of its own nuisances, its recording's scale too where no
 * other run has it. */
static bool whiten_run(const struct cw_joint *joint, size_t i, size_t slot,
                       const struct cw_noise *noise, struct cw_joint_workspace *w,
                       struct cw_normal *normal) {
    *normal = cw_joint_normal(joint, i);
    normal->product = w->run.a;
    cw_whiten(joint->whitener, &joint->linear[i], noise, normal);
    w->run.n = normal->n;
    w->log_det += normal->log_det;

    size_t tail = normal->n_nodes;
    cw_equations_add_prior(&w->run, tail + CW_TAIL_OFFSET, 0,
                           (struct cw_prior){0, joint->priors.offset_sd_m});
    cw_equations_add_prior(&w->run, tail + CW_TAIL_SHIFT, 0,
                           (struct cw_prior){0, joint->priors.shift_sd_m});
    cw_equations_add_prior(&w->run, tail + CW_TAIL_ENERGY, 0, (struct cw_prior){0, 1e3});
    cw_equations_add_prior(&w->run, tail + CW_TAIL_OWN_WIND, 0,
                           cw_joint_held((struct cw_prior){0, w->own_wind_ms}));
    for (enum cw_tail t = 0; t < CW_OWN; t++)
        if (!eliminate_own(w, slot, tail + t, t)) return false;
    if (!cw_joint_with_run(joint, w, i, CW_TAIL_SCALE)) return true;
    cw_equations_add_prior(&w->run, tail + CW_TAIL_SCALE, joint->scale[joint->data[i].recording],
                           (struct cw_prior){0, joint->priors.scale_sd});
    return eliminate_own(w, slot, tail + CW_TAIL_SCALE, CW_TAIL_SCALE);
}

/* Adds a run's equations to those of its profile, in w, where it stands at slot. */
static void add_run(const struct cw_joint *joint, size_t i, size_t slot,
                    const struct cw_normal *normal, const struct cw_equations *run,
                    struct cw_joint_workspace *w) {
    const struct cw_run_data *data = &joint->data[i];
    size_t nodes = joint->profile[data->road].n, tail = normal->n_nodes, tail_to[CW_TAIL];
    cw_joint_tail_to(joint, w, i, slot, tail_to);
    for (size_t a = 0; a < run->n; a++) {
        if (a >= tail && cw_joint_with_run(joint, w, i, (enum cw_tail)(a - tail))) continue;
        size_t to_a = a < tail ? normal->first_node + a : tail_to[a - tail];
        const double *from = run->a + a * run->n;
        if (data->reversed && a < tail) {
            to_a = nodes - 1 - to_a;
            for (size_t b = a; b < tail; b++)
                *cw_equations_at(&w->profile, to_a, nodes - 1 - normal->first_node - b) += from[b];
        } else if (a < tail) {
            double *to = w->profile.a + to_a * w->profile.n + normal->first_node;
            for (size_t b = a; b < tail; b++) to[b] += from[b];
        }
        for (size_t b = a < tail ? tail + CW_OWN : a; b < run->n; b++)
            if (!cw_joint_with_run(joint, w, i, (enum cw_tail)(b - tail)))
                *cw_equations_at(&w->profile, to_a, tail_to[b - tail]) += from[b];
    }
}

static void begin_road(const struct cw_joint *joint, size_t road, struct cw_joint_workspace *w) {
    w->profile.n = joint->profile[road].n + w->layout.n;
    memset(w->profile.a, 0, w->profile.n * w->profile.n * sizeof(double));
}

/* Eliminates a road's profile; the rest joins what roads share. */
static bool end_road(const struct cw_joint *joint, size_t road, const struct cw_noise *noise,
                     struct cw_joint_workspace *w) {
    size_t nodes = joint->profile[road].n, n = w->layout.n;
    cw_ground_add(&joint->ground[road], &joint->profile[road], noise, &w->profile, &w->log_det);
    for (size_t p = 0; p < nodes; p++)
        if (!cw_equations_eliminate(&w->profile, p, p + 1, w->row, &w->log_det)) return false;
    for (size_t a = 0; a < n; a++)
        for (size_t b = a; b < n; b++)
            w->shared.a[a * n + b] += w->profile.a[(nodes + a) * w->profile.n + nodes + b];
    return true;
}

/* Eliminates the scales. */
static bool end_roads(const struct cw_joint *joint, struct cw_joint_workspace *w) {
    const struct cw_joint_layout *l = &w->layout;
    for (size_t k = 0; l->scale + k < l->bends; k++)
        cw_equations_add_prior(&w->shared, l->scale + k, joint->scale[w->recording[k]],
                               (struct cw_prior){0, joint->priors.scale_sd});
    for (size_t t = 0; t < joint->n_tyres; t++)
        if (joint->crr_prior[t].known)
            cw_equations_add_prior(&w->shared, l->crr + t, joint->crr[t],
                                   joint->crr_prior[t].prior);
    for (size_t p = 0; p < l->bends; p++)
        if (!cw_equations_eliminate(&w->shared, p, p + 1, w->row, &w->log_det)) return false;
    return true;
}

/* What is left of Crr and CdA once all else is eliminated. */
static void summarise(const struct cw_joint *joint, const size_t *subset,
                      struct cw_joint_workspace *w, struct cw_information *information) {
    const struct cw_joint_layout *l = &w->layout;
    size_t m = information->n;
    for (size_t a = 0; a < m; a++)
        for (size_t b = 0; b < m; b++)
            information->matrix[a * m + b] = *cw_equations_at(&w->shared, l->crr + a, l->crr + b);
    /* The equations are of corrections: J dx = -column; x = basis value + dx. */
    for (size_t a = 0; a < m; a++) {
        double sum = -*cw_equations_at(&w->shared, l->crr + a, l->data);
        for (size_t b = 0; b < m; b++) {
            double basis =
                b < joint->n_tyres
                    ? joint->crr[b]
                    : joint->cda_m2[subset ? subset[b - joint->n_tyres] : b - joint->n_tyres];
            sum += information->matrix[a * m + b] * basis;
        }
        information->vector[a] = sum;
    }
}

/* What run i says alone, its equations having been made, with the scale in them or without. */
static enum cw_status solve_alone(const struct cw_joint *joint, size_t i,
                                  const struct cw_noise *noise, const struct cw_normal *normal,
                                  const struct cw_equations *run, bool without_scale,
                                  struct cw_information *information, struct cw_error *error) {
    struct cw_joint_workspace w;
    size_t road = joint->data[i].road;
    enum cw_status status = workspace_make(joint, &i, 1, without_scale, &w, error);
    if (status < 0) return status;
    begin_road(joint, road, &w);
    add_run(joint, i, 0, normal, run, &w);
    if (!end_road(joint, road, noise, &w) || !end_roads(joint, &w))
        status = cw_joint_no_solution(error);
    if (status >= 0) status = cw_joint_integrate_outing(joint, joint->wind_found, &w, error);
    if (status >= 0) summarise(joint, &i, &w, information);
    cw_joint_workspace_free(joint, &w);
    return status;
}

enum cw_status cw_joint_no_solution(struct cw_error *error) {
    return cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                        "the joint equations of the runs cannot be solved");
}

enum cw_status cw_joint_assemble(const struct cw_joint *joint, const size_t *subset, size_t n,
                                 const struct cw_noise *noise, struct cw_information *alone,
                                 struct cw_joint_workspace *w, struct cw_error *error) {
    for (size_t road = 0; road < joint->n_roads; road++) {
        bool any = false;
        for (size_t k = 0; k < n; k++) {
            size_t i = subset ? subset[k] : k;
            struct cw_normal normal;
            if (joint->data[i].road != road) continue;
            if (!any) begin_road(joint, road, w);
            any = true;
            if (!whiten_run(joint, i, k, noise, w, &normal)) return cw_joint_no_solution(error);
            add_run(joint, i, k, &normal, &w->run, w);
            if (!alone) continue;
            enum cw_status status =
                solve_alone(joint, i, noise, &normal, &w->run,
                            cw_joint_with_run(joint, w, i, CW_TAIL_SCALE), &alone[k], error);
            if (status < 0) return status;
        }
        if (!any) continue;
        if (!end_road(joint, road, noise, w)) return cw_joint_no_solution(error);
        if (w->kept) {
            size_t numbers = joint->profile[road].n * w->profile.n;
            w->kept[road].n = w->profile.n;
            w->kept[road].a = malloc(numbers * sizeof(double));
            if (!w->kept[road].a) return cw_error_memory(error);
            memcpy(w->kept[road].a, w->profile.a, numbers * sizeof(double));
        }
    }
    return end_roads(joint, w) ? CW_OK : cw_joint_no_solution(error);
}

struct cw_prior cw_joint_held(struct cw_prior prior) {
    if (!(prior.sd > 0)) prior.sd = held_sd;
    return prior;
}

enum cw_status cw_joint_integrate_outing(const struct cw_joint *joint, struct cw_prior wind,
                                         struct cw_joint_workspace *w, struct cw_error *error) {
    const struct cw_joint_layout *l = &w->layout;
    cw_equations_add_prior(&w->shared, l->bends, joint->bends, cw_joint_held(joint->priors.bends));
    cw_equations_add_prior(&w->shared, l->wind, joint->wind_ms, cw_joint_held(wind));
    for (size_t p = l->bends; p <= l->wind; p++)
        if (!cw_equations_eliminate(&w->shared, p, p + 1, w->row, &w->log_det))
            return cw_joint_no_solution(error);
    return CW_OK;
}

enum cw_status cw_joint_finish(const struct cw_joint *joint, const size_t *subset, size_t n,
                               struct cw_joint_workspace *w, struct cw_error *error) {
    const struct cw_joint_layout *l = &w->layout;
    for (size_t t = 0; t < joint->n_tyres; t++)
        if (!joint->crr_prior[t].known)
            cw_equations_add_prior(&w->shared, l->crr + t, joint->crr[t],
                                   joint->crr_prior[t].prior);
    for (size_t k = 0; k < n; k++)
        cw_equations_add_prior(&w->shared, l->cda + k, joint->cda_m2[subset ? subset[k] : k],
                               joint->priors.cda_m2);
    for (size_t p = l->crr; p < l->data; p++)
        if (!cw_equations_eliminate(&w->shared, p, p + 1, w->row, &w->log_det))
            return cw_joint_no_solution(error);
    return CW_OK;
}

enum cw_status cw_joint_likelihood(const struct cw_joint *joint, const size_t *subset, size_t n,
                                   const struct cw_noise *noise, struct cw_joint_workspace *w,
                                   struct cw_information *information, struct cw_information *alone,
                                   double *minus_2_log_likelihood, struct cw_error *error) {
    w->own_wind_ms = information || alone ? 0 : joint->priors.own_wind_ms;
    enum cw_status status = cw_joint_assemble(joint, subset, n, noise, alone, w, error);
    if (status >= 0)
        status = cw_joint_integrate_outing(joint, subset ? joint->wind_found : joint->priors.wind,
                                           w, error);
    if (status >= 0 && information) summarise(joint, subset, w, information);
    if (status >= 0) status = cw_joint_finish(joint, subset, n, w, error);
    if (status < 0) return status;
    *minus_2_log_likelihood =
        w->log_det + *cw_equations_at(&w->shared, w->layout.data, w->layout.data);
    return isfinite(*minus_2_log_likelihood)
               ? CW_OK
               : cw_error_set(error, CW_E_NUMERIC, NULL, 0, "the likelihood is not finite");
}
