#include "fit/joint_equations.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fit/crew.h"
#include "fit/front.h"
#include "fit/places.h"

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
    for (size_t road = 0; w->road && road < joint->n_roads; road++) {
        for (size_t k = 0; k < w->road[road].n; k++) free(w->road[road].front[k].row);
        free(w->road[road].front);
        free(w->road[road].row);
    }
    for (size_t p = 0; w->normal && p < joint->pieces.first[joint->n_runs]; p++)
        if (!w->lent || w->normal[p].product != w->lent[p].product) free(w->normal[p].product);
    free(w->road);
    free(w->normal);
    free(w->crossing);
    free(w->own_at);
    free(w->own);
    free(w->run.a);
    free(w->front.a);
    free(w->behind.a);
    free(w->shared.a);
    free(w->row);
    free(w->scale_of);
    free(w->recording);
    *w = (struct cw_joint_workspace){0};
}

/* Which scales runs share, and their numbers; *n_scales is how many they are. One of a recording
 * with but a run of the subset goes with that run. */
static enum cw_status number_scales(const struct cw_joint *joint, const size_t *subset, size_t n,
                                    struct cw_joint_workspace *w, size_t *n_scales,
                                    struct cw_error *error) {
    *n_scales = 0;
    w->scale_of = calloc(joint->n_recordings, sizeof *w->scale_of);
    w->recording = malloc(n * sizeof *w->recording);
    if (!w->scale_of || !w->recording) return cw_error_memory(error);
    for (size_t k = 0; k < n; k++) w->scale_of[joint->data[cw_joint_run_of(subset, k)].recording]++;
    for (size_t r = 0; r < joint->n_recordings; r++) {
        if (w->scale_of[r] <= 1) {
            w->scale_of[r] = CW_JOINT_NOWHERE;
            continue;
        }
        w->recording[*n_scales] = r;
        w->scale_of[r] = (*n_scales)++;
    }
    return CW_OK;
}

/* The coefficients that a piece touches, and with that the shape of its equations. */
static struct cw_normal shape(const struct cw_linear *linear, const struct cw_piece *piece) {
    struct cw_normal normal = {.from = piece->from, .end = piece->end};
    size_t low = SIZE_MAX, high = 0;
    if (!piece->from) {
        low = linear->start_node.first;
        high = low + 4;
    }
    for (size_t j = piece->from; j <= piece->end && j < linear->n; j++) {
        const size_t first[2] = {linear->node[j].first, linear->felt_node[j].first};
        for (int k = 0; k < 2; k++) {
            if (first[k] < low) low = first[k];
            if (first[k] + 4 > high) high = first[k] + 4;
        }
    }
    normal.first_node = low;
    normal.n_nodes = high - low;
    normal.n = cw_normal_n(&normal, linear);
    return normal;
}

/* The shapes of the subset's pieces, and which unknowns of their own its runs have in the border.
 */
static enum cw_status shape_runs(const struct cw_joint *joint, const size_t *subset, size_t n,
                                 struct cw_joint_workspace *w, struct cw_error *error) {
    size_t pieces = joint->pieces.first[joint->n_runs];
    w->normal = calloc(pieces, sizeof *w->normal);
    w->crossing = calloc(pieces, sizeof *w->crossing);
    w->own_at = malloc(n * CW_JOINT_OWN * sizeof *w->own_at);
    w->road = calloc(joint->n_roads, sizeof *w->road);
    if (!w->normal || !w->crossing || !w->own_at || !w->road) return cw_error_memory(error);
    for (size_t k = 0; k < n; k++) {
        size_t i = cw_joint_run_of(subset, k), *at = w->own_at + k * CW_JOINT_OWN;
        const size_t *first = joint->pieces.first + i;
        struct cw_fronts *road = &w->road[joint->data[i].road];
        for (size_t p = first[0]; p < first[1]; p++) {
            w->normal[p] = shape(&joint->linear[i], &joint->pieces.piece[p]);
            if (w->normal[p].n > w->most) w->most = w->normal[p].n;
        }
        for (size_t o = 0; o < CW_JOINT_OWN; o++) {
            enum cw_tail tail = o < CW_OWN ? (enum cw_tail)o : CW_TAIL_SCALE;
            bool own = cw_joint_is_own(joint, w, i, tail),
                 gone = cw_joint_with_piece(joint, w, i, first[0], tail);
            at[o] = own && !gone ? road->n_own++ : CW_JOINT_NOWHERE;
        }
    }
    return CW_OK;
}

enum cw_status cw_joint_workspace_alloc(const struct cw_joint *joint, const size_t *subset,
                                        size_t n, bool keeps, struct cw_joint_workspace *w,
                                        struct cw_error *error) {
    size_t n_scales, most = 0;
    *w = (struct cw_joint_workspace){.keeps = keeps};
    enum cw_status status = number_scales(joint, subset, n, w, &n_scales, error);
    if (status < 0) goto cleanup;
    w->layout = layout_make(joint, n_scales, n);
    status = shape_runs(joint, subset, n, w, error);
    for (size_t road = 0; road < joint->n_roads && status >= 0; road++)
        status = cw_front_plan(joint, subset, n, road, w, &most, error);
    if (status < 0) goto cleanup;
    w->shared.n = w->layout.n;
    w->run.a = malloc(w->most * w->most * sizeof(double));
    w->front.a = malloc(most * most * sizeof(double));
    w->behind.a = malloc(most * most * sizeof(double));
    w->shared.a = calloc(w->layout.n * w->layout.n, sizeof(double));
    w->row = malloc((w->most > most ? w->most : most) * sizeof(double));
    if (keeps) w->own = malloc(n * CW_JOINT_OWN * w->most * sizeof *w->own);
    if (!w->run.a || !w->front.a || !w->behind.a || !w->shared.a || !w->row || (keeps && !w->own))
        status = cw_error_memory(error);
cleanup:
    if (status < 0) cw_joint_workspace_free(joint, w);
    return status;
}

void cw_joint_lend(const struct cw_joint *joint, const size_t *subset, size_t n,
                   const struct cw_normal *lent, struct cw_joint_workspace *w) {
    w->lent = lent;
    for (size_t slot = 0; slot < n; slot++) {
        size_t i = cw_joint_run_of(subset, slot);
        for (size_t p = joint->pieces.first[i]; p < joint->pieces.first[i + 1]; p++)
            if (lent[p].product) w->normal[p] = lent[p];
    }
}

bool cw_joint_is_own(const struct cw_joint *joint, const struct cw_joint_workspace *w, size_t i,
                     enum cw_tail tail) {
    return tail < CW_OWN ||
           (tail == CW_TAIL_SCALE && w->scale_of[joint->data[i].recording] == CW_JOINT_NOWHERE);
}

bool cw_joint_with_piece(const struct cw_joint *joint, const struct cw_joint_workspace *w, size_t i,
                         size_t piece, enum cw_tail tail) {
    const size_t *first = joint->pieces.first + i;
    if (piece != first[0] || !cw_joint_is_own(joint, w, i, tail)) return false;
    return first[1] == first[0] + 1 || tail == CW_TAIL_ENERGY || tail == CW_TAIL_SHIFT;
}

static size_t own_number(enum cw_tail tail) {
    return tail < CW_OWN ? tail : CW_OWN;
}

double *cw_joint_own(const struct cw_joint_workspace *w, size_t slot, enum cw_tail tail) {
    return w->own + (slot * CW_JOINT_OWN + own_number(tail)) * w->most;
}

size_t cw_joint_border(const struct cw_joint *joint, const struct cw_joint_workspace *w, size_t i,
                       size_t slot, enum cw_tail tail) {
    const struct cw_run_data *data = &joint->data[i];
    if (cw_joint_is_own(joint, w, i, tail))
        return w->own_at[slot * CW_JOINT_OWN + own_number(tail)];
    size_t shared = w->road[data->road].shared;
    switch (tail) {
    case CW_TAIL_CRR:
        return shared + w->layout.crr + data->tyres;
    case CW_TAIL_CDA:
        return shared + w->layout.cda + slot;
    case CW_TAIL_BENDS:
        return shared + w->layout.bends;
    case CW_TAIL_WIND:
        return shared + w->layout.wind;
    case CW_TAIL_SCALE:
        return shared + w->layout.scale + w->scale_of[data->recording];
    default:
        return shared + w->layout.data;
    }
}

struct cw_prior cw_joint_own_prior(const struct cw_joint *joint, const struct cw_joint_workspace *w,
                                   size_t i, enum cw_tail tail, double *basis) {
    *basis = 0;
    switch (tail) {
    case CW_TAIL_ENERGY:
        return (struct cw_prior){0, 1e3};
    case CW_TAIL_SHIFT:
        return (struct cw_prior){0, joint->priors.shift_sd_m};
    case CW_TAIL_OFFSET:
        return (struct cw_prior){0, joint->priors.offset_sd_m};
    case CW_TAIL_OWN_WIND:
        return cw_joint_held((struct cw_prior){0, w->own_wind_ms});
    default:
        *basis = joint->scale[joint->data[i].recording];
        return (struct cw_prior){0, joint->priors.scale_sd};
    }
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

enum cw_status cw_joint_no_solution(struct cw_error *error) {
    return cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                        "the joint equations of the runs cannot be solved");
}

struct whitening {
    const struct cw_joint *joint;
    const struct cw_noise *noise;
    struct cw_joint_workspace *w;
};

static enum cw_status whiten_piece(void *context, struct cw_whitener *whitener, size_t i, size_t p,
                                   struct cw_error *error) {
    const struct whitening *of = context;
    struct cw_normal *normal = &of->w->normal[p];
    if (normal->product) return CW_OK; /* lent */
    normal->product = malloc(normal->n * normal->n * sizeof *normal->product);
    if (!normal->product) return cw_error_memory(error);
    struct cw_places *places = of->w->places ? &of->w->places[p] : NULL;
    enum cw_status status = cw_whiten(whitener, &of->joint->linear[i], of->noise, normal, places);
    return status < 0 ? cw_error_memory(error) : CW_OK;
}

/* Whitens all runs of the subset. */
static enum cw_status whiten(const struct cw_joint *joint, const size_t *subset, size_t n,
                             const struct cw_noise *noise, struct cw_joint_workspace *w,
                             struct cw_error *error) {
    struct whitening whitening = {joint, noise, w};
    return cw_crew_work(joint, subset, n, whiten_piece, &whitening, error);
}

enum cw_status cw_joint_assemble(const struct cw_joint *joint, const size_t *subset, size_t n,
                                 const struct cw_noise *noise, struct cw_joint_workspace *w,
                                 struct cw_error *error) {
    enum cw_status status = whiten(joint, subset, n, noise, w, error);
    for (size_t road = 0; road < joint->n_roads && status >= 0; road++)
        if (w->road[road].n) status = cw_front_eliminate(joint, subset, n, road, noise, w, error);
    if (status < 0) return status;
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

/* What run i says alone, of whom all pieces were whitened in `all`. */
static enum cw_status solve_alone(const struct cw_joint *joint, size_t i,
                                  const struct cw_noise *noise,
                                  const struct cw_joint_workspace *all,
                                  struct cw_information *information, struct cw_error *error) {
    struct cw_joint_workspace w;
    enum cw_status status = cw_joint_workspace_alloc(joint, &i, 1, false, &w, error);
    if (status < 0) return status;
    w.own_wind_ms = all->own_wind_ms;
    cw_joint_lend(joint, &i, 1, all->normal, &w);
    status = cw_joint_assemble(joint, &i, 1, noise, &w, error);
    if (status >= 0) status = cw_joint_integrate_outing(joint, joint->wind_found, &w, error);
    if (status >= 0) summarise(joint, &i, &w, information);
    cw_joint_workspace_free(joint, &w);
    return status;
}

enum cw_status cw_joint_likelihood(const struct cw_joint *joint, const size_t *subset, size_t n,
                                   const struct cw_noise *noise, struct cw_joint_workspace *w,
                                   struct cw_information *information, struct cw_information *alone,
                                   double *minus_2_log_likelihood, struct cw_error *error) {
    enum cw_status status;
    w->own_wind_ms = information || alone ? 0 : joint->priors.own_wind_ms;
    status = cw_joint_assemble(joint, subset, n, noise, w, error);
    for (size_t k = 0; alone && k < n && status >= 0; k++)
        status = solve_alone(joint, cw_joint_run_of(subset, k), noise, w, &alone[k], error);
    if (status >= 0)
        status = cw_joint_integrate_outing(joint, subset ? joint->wind_found : joint->priors.wind,
                                           w, error);
    if (status >= 0 && information) summarise(joint, subset, w, information);
    if (status < 0 || !minus_2_log_likelihood) return status;
    status = cw_joint_finish(joint, subset, n, w, error);
    if (status < 0) return status;
    *minus_2_log_likelihood =
        w->log_det + *cw_equations_at(&w->shared, w->layout.data, w->layout.data);
    return isfinite(*minus_2_log_likelihood)
               ? CW_OK
               : cw_error_set(error, CW_E_NUMERIC, NULL, 0, "the likelihood is not finite");
}
