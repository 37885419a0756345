#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fit/joint.h"
#include "fit/smooth.h"

/* Of what is not asked for: were it nothing, the equations would be singular. */
static const double held_sd = 1e-6;

/* Unknowns shared by roads, in their order of elimination. */
struct layout {
    size_t scale, bends, wind, crr, cda, data, n;
};

static struct layout layout_make(const struct cw_joint *joint, size_t n_runs) {
    struct layout l = {0};
    l.bends = l.scale + joint->n_recordings;
    l.wind = l.bends + 1;
    l.crr = l.wind + 1;
    l.cda = l.crr + joint->n_tyres;
    l.data = l.cda + n_runs;
    l.n = l.data + 1;
    return l;
}

struct workspace {
    struct cw_equations run, profile, shared;
    double *row;
};

static void workspace_free(struct workspace *w) {
    free(w->run.a);
    free(w->profile.a);
    free(w->shared.a);
    free(w->row);
}

static enum cw_status workspace_alloc(const struct cw_joint *joint, size_t shared,
                                      struct workspace *w, struct cw_error *error) {
    size_t run = joint->most_nodes + CW_TAIL, profile = joint->most_nodes + shared;
    *w = (struct workspace){.shared.n = shared};
    w->run.a = malloc(run * run * sizeof(double));
    w->profile.a = malloc(profile * profile * sizeof(double));
    w->shared.a = calloc(shared * shared, sizeof(double));
    w->row = malloc((run > profile ? run : profile) * sizeof(double));
    if (!w->run.a || !w->profile.a || !w->shared.a || !w->row) {
        workspace_free(w);
        return cw_error_memory(error);
    }
    return CW_OK;
}

/* Whitens run i and adds its equations, freed of its own nuisances, to those of its profile. */
static bool add_run(const struct cw_joint *joint, size_t i, size_t slot,
                    const struct cw_noise *noise, const struct layout *l, struct workspace *w,
                    double *log_det) {
    const struct cw_run_data *data = &joint->data[i];
    const struct cw_linear *linear = &joint->linear[i];
    /* the coefficients this run touches */
    size_t low = linear->start_node.first, high = low + 4;
    for (size_t j = 0; j < linear->n; j++) {
        const size_t first[2] = {linear->node[j].first, linear->felt_node[j].first};
        for (int k = 0; k < 2; k++) {
            if (first[k] < low) low = first[k];
            if (first[k] + 4 > high) high = first[k] + 4;
        }
    }
    struct cw_normal normal = {.first_node = low, .n_nodes = high - low, .product = w->run.a};
    cw_whiten(joint->whitener, linear, noise, &normal);
    w->run.n = normal.n;
    *log_det += normal.log_det;

    size_t tail = normal.n_nodes;
    cw_equations_add_prior(&w->run, tail + CW_TAIL_OFFSET, 0,
                           (struct cw_prior){0, joint->priors.offset_sd_m});
    cw_equations_add_prior(&w->run, tail + CW_TAIL_SHIFT, 0,
                           (struct cw_prior){0, joint->priors.shift_sd_m});
    cw_equations_add_prior(&w->run, tail + CW_TAIL_ENERGY, 0, (struct cw_prior){0, 1e3});
    for (size_t p = 0; p < CW_OWN; p++) {
        if (!cw_equations_eliminate(&w->run, tail + p, 0, w->row, log_det)) return false;
        for (size_t j = 0; j < w->run.n; j++) *cw_equations_at(&w->run, tail + p, j) = 0;
    }

    size_t nodes = joint->profile[data->road].n;
    size_t tail_to[CW_TAIL] = {[CW_TAIL_CRR] = nodes + l->crr + data->tyres,
                               [CW_TAIL_CDA] = nodes + l->cda + slot,
                               [CW_TAIL_BENDS] = nodes + l->bends,
                               [CW_TAIL_WIND] = nodes + l->wind,
                               [CW_TAIL_SCALE] = nodes + l->scale + data->recording,
                               [CW_TAIL_DATA] = nodes + l->data};
    for (size_t a = 0; a < w->run.n; a++) {
        if (a >= tail && a < tail + CW_OWN) continue;
        size_t to_a = a < tail ? normal.first_node + a : tail_to[a - tail];
        double *from = w->run.a + a * w->run.n;
        if (data->reversed && a < tail) {
            to_a = nodes - 1 - to_a;
            for (size_t b = a; b < tail; b++)
                *cw_equations_at(&w->profile, to_a, nodes - 1 - normal.first_node - b) += from[b];
        } else if (a < tail) {
            double *to = w->profile.a + to_a * w->profile.n + normal.first_node;
            for (size_t b = a; b < tail; b++) to[b] += from[b];
        }
        for (size_t b = a < tail ? tail + CW_OWN : a; b < w->run.n; b++)
            *cw_equations_at(&w->profile, to_a, tail_to[b - tail]) += from[b];
    }
    return true;
}

static enum cw_status no_solution(struct cw_error *error) {
    return cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                        "the joint equations of the runs cannot be solved");
}

/* Where keep is not NULL, the equations of each road's profile are kept there (a road each, to be
 * freed by the caller) for the way back. On return scales are eliminated too; below them
 * w->shared holds the equations of bends, wind, Crr and CdA. */
static enum cw_status assemble(const struct cw_joint *joint, const size_t *subset, size_t n,
                               const struct cw_noise *noise, const struct layout *l,
                               struct workspace *w, struct cw_equations *keep, double *log_det,
                               struct cw_error *error) {
    for (size_t road = 0; road < joint->n_roads; road++) {
        size_t nodes = joint->profile[road].n;
        bool any = false;
        for (size_t k = 0; k < n && !any; k++)
            any = joint->data[subset ? subset[k] : k].road == road;
        if (!any) continue;
        w->profile.n = nodes + l->n;
        memset(w->profile.a, 0, w->profile.n * w->profile.n * sizeof(double));
        for (size_t k = 0; k < n; k++) {
            size_t i = subset ? subset[k] : k;
            if (joint->data[i].road != road) continue;
            if (!add_run(joint, i, k, noise, l, w, log_det)) goto singular;
        }
        cw_ground_add(&joint->ground[road], &joint->profile[road], noise, &w->profile, log_det);
        for (size_t p = 0; p < nodes; p++)
            if (!cw_equations_eliminate(&w->profile, p, p + 1, w->row, log_det)) goto singular;
        for (size_t a = 0; a < l->n; a++)
            for (size_t b = a; b < l->n; b++)
                w->shared.a[a * l->n + b] += w->profile.a[(nodes + a) * w->profile.n + nodes + b];
        if (keep) {
            keep[road].n = w->profile.n;
            keep[road].a = malloc(nodes * w->profile.n * sizeof(double));
            if (!keep[road].a) return cw_error_memory(error);
            memcpy(keep[road].a, w->profile.a, nodes * w->profile.n * sizeof(double));
        }
    }
    for (size_t r = 0; r < joint->n_recordings; r++) {
        cw_equations_add_prior(&w->shared, l->scale + r, joint->scale[r],
                               (struct cw_prior){0, joint->priors.scale_sd});
    }
    for (size_t t = 0; t < joint->n_tyres; t++)
        if (joint->crr_prior[t].known)
            cw_equations_add_prior(&w->shared, l->crr + t, joint->crr[t],
                                   joint->crr_prior[t].prior);
    for (size_t p = 0; p < l->bends; p++)
        if (!cw_equations_eliminate(&w->shared, p, p + 1, w->row, log_det)) goto singular;
    return CW_OK;
singular:
    return no_solution(error);
}

static struct cw_prior held(struct cw_prior prior) {
    if (!(prior.sd > 0)) prior.sd = held_sd;
    return prior;
}

/* Eliminates what all runs of an outing share: what bends cost, and the wind. */
static enum cw_status integrate_outing(const struct cw_joint *joint, struct cw_prior wind,
                                       const struct layout *l, struct workspace *w, double *log_det,
                                       struct cw_error *error) {
    cw_equations_add_prior(&w->shared, l->bends, joint->bends, held(joint->priors.bends));
    cw_equations_add_prior(&w->shared, l->wind, joint->wind_ms, held(wind));
    for (size_t p = l->bends; p <= l->wind; p++)
        if (!cw_equations_eliminate(&w->shared, p, p + 1, w->row, log_det))
            return no_solution(error);
    return CW_OK;
}

/* What all runs tell of bends and wind where those of one setup have one CdA: their equations, the
 * CdA columns added up setup by setup, with these two as the last to be eliminated. */
static enum cw_status find_outing(struct cw_joint *joint, const struct layout *l,
                                  struct workspace *w, struct cw_error *error) {
    size_t wind = joint->n_tyres + joint->n_runs, bends = wind + 1, *to = malloc(l->n * sizeof *to);
    struct cw_equations tied = {.n = wind + 3};
    tied.a = calloc(tied.n * tied.n, sizeof *tied.a);
    double *row = calloc(tied.n, sizeof *row), unused = 0;
    enum cw_status status = tied.a && row && to ? CW_OK : cw_error_memory(error);
    if (status < 0) goto cleanup;
    for (size_t t = 0; t < joint->n_tyres; t++) to[l->crr + t] = t;
    for (size_t i = 0; i < joint->n_runs; i++) { /* to its setup's first run */
        size_t first = 0;
        while (joint->data[first].setup != joint->data[i].setup) first++;
        to[l->cda + i] = joint->n_tyres + first;
    }
    to[l->wind] = wind;
    to[l->bends] = bends;
    to[l->data] = bends + 1;
    for (size_t a = l->bends; a < l->n; a++)
        for (size_t b = a; b < l->n; b++) {
            double product = *cw_equations_at(&w->shared, a, b);
            *cw_equations_at(&tied, to[a], to[b]) += product;
            if (a != b && to[a] == to[b]) *cw_equations_at(&tied, to[a], to[b]) += product;
        }
    for (size_t t = 0; t < joint->n_tyres; t++)
        if (!joint->crr_prior[t].known)
            cw_equations_add_prior(&tied, t, joint->crr[t], joint->crr_prior[t].prior);
    /* A run that is not its setup's first is no unknown, and stands by itself. */
    for (size_t i = 0; i < joint->n_runs; i++)
        cw_equations_add_prior(&tied, joint->n_tyres + i, joint->cda_m2[i], joint->priors.cda_m2);
    cw_equations_add_prior(&tied, wind, joint->wind_ms, held(joint->priors.wind));
    cw_equations_add_prior(&tied, bends, joint->bends, held(joint->priors.bends));
    for (size_t p = 0; p < wind && status >= 0; p++)
        if (!cw_equations_eliminate(&tied, p, p + 1, row, &unused)) status = no_solution(error);
    if (status < 0) goto cleanup;
    double of_wind = *cw_equations_at(&tied, wind, wind),
           both = *cw_equations_at(&tied, wind, bends),
           of_bends = *cw_equations_at(&tied, bends, bends), det = of_wind * of_bends - both * both;
    if (!(of_wind > 0) || !(det > 0)) {
        status = no_solution(error);
        goto cleanup;
    }
    if (!cw_equations_eliminate(&tied, wind, wind + 1, row, &unused)) status = no_solution(error);
    if (status < 0) goto cleanup;
    row[bends] = cw_equations_give_back(&tied, bends, row);
    joint->bends_found = (struct cw_prior){joint->bends + row[bends], sqrt(of_wind / det)};
    joint->wind_found = (struct cw_prior){joint->wind_ms + cw_equations_give_back(&tied, wind, row),
                                          sqrt(of_bends / det)};
cleanup:
    free(to);
    free(tied.a);
    free(row);
    return status;
}

/* Eliminates what is left, Crr and CdA, with the priors that steady the search. */
static enum cw_status finish(const struct cw_joint *joint, const size_t *subset, size_t n,
                             const struct layout *l, struct workspace *w, double *log_det,
                             struct cw_error *error) {
    for (size_t t = 0; t < joint->n_tyres; t++)
        if (!joint->crr_prior[t].known)
            cw_equations_add_prior(&w->shared, l->crr + t, joint->crr[t],
                                   joint->crr_prior[t].prior);
    for (size_t k = 0; k < n; k++)
        cw_equations_add_prior(&w->shared, l->cda + k, joint->cda_m2[subset ? subset[k] : k],
                               joint->priors.cda_m2);
    for (size_t p = l->crr; p < l->data; p++)
        if (!cw_equations_eliminate(&w->shared, p, p + 1, w->row, log_det))
            return no_solution(error);
    return CW_OK;
}

enum cw_status cw_joint_evaluate(const struct cw_joint *joint, const size_t *subset, size_t n,
                                 const struct cw_noise *noise, double *minus_2_log_likelihood,
                                 struct cw_information *information, struct cw_error *error) {
    struct layout l = layout_make(joint, n);
    struct workspace w;
    enum cw_status status = workspace_alloc(joint, l.n, &w, error);
    if (status < 0) return status;
    double log_det = 0;
    status = assemble(joint, subset, n, noise, &l, &w, NULL, &log_det, error);
    if (status >= 0)
        status = integrate_outing(joint, subset ? joint->wind_found : joint->priors.wind, &l, &w,
                                  &log_det, error);
    if (status < 0) goto cleanup;
    if (information) {
        size_t m = information->n;
        for (size_t a = 0; a < m; a++)
            for (size_t b = 0; b < m; b++)
                information->matrix[a * m + b] = *cw_equations_at(&w.shared, l.crr + a, l.crr + b);
        /* The equations are of corrections: J dx = -column; x = basis value + dx. */
        for (size_t a = 0; a < m; a++) {
            double sum = -*cw_equations_at(&w.shared, l.crr + a, l.data);
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
    status = finish(joint, subset, n, &l, &w, &log_det, error);
    if (status < 0) goto cleanup;
    *minus_2_log_likelihood = log_det + *cw_equations_at(&w.shared, l.data, l.data);
    if (!isfinite(*minus_2_log_likelihood))
        status = cw_error_set(error, CW_E_NUMERIC, NULL, 0, "the likelihood is not finite");
cleanup:
    workspace_free(&w);
    return status;
}

static double within(double value, double low, double high) {
    return value < low ? low : value > high ? high : value;
}

/* The mean CdA of run i's setup, by precision: what its run is linearised about. Not its own: a
 * gust's effect grows with the basis value of CdA, so a run whose gusts made it seem slippery would
 * also seem sure of it, and the setup's mean would be pulled down. And it must be a bicycle's,
 * however poor the data. */
static double setup_mean(const struct cw_joint *joint, size_t i, const double *estimate,
                         const double *precision) {
    double sum = 0, weight = 0;
    for (size_t k = 0; k < joint->n_runs; k++) {
        if (joint->data[k].setup != joint->data[i].setup) continue;
        sum += precision[k] * estimate[k];
        weight += precision[k];
    }
    return weight > 0 ? within(sum / weight, 0.05, 1.5) : joint->cda_m2[i];
}

static void set_wind(struct cw_joint *joint, double wind_ms) {
    joint->wind_ms = wind_ms;
    for (size_t i = 0; i < joint->n_runs; i++)
        joint->data[i].surroundings.wind_along_ms = cw_run_data_headwind(&joint->data[i], wind_ms);
}

enum cw_status cw_joint_advance(struct cw_joint *joint, const struct cw_noise *noise,
                                double *change, struct cw_error *error) {
    struct layout l = layout_make(joint, joint->n_runs);
    struct workspace w;
    enum cw_status status = workspace_alloc(joint, l.n, &w, error);
    if (status < 0) return status;
    struct cw_equations *keep = calloc(joint->n_roads, sizeof *keep);
    double *value = calloc(joint->most_nodes + l.n, sizeof *value);
    double *estimate = malloc(2 * joint->n_runs * sizeof *estimate);
    double *precision, log_det = 0;
    if (!keep || !value || !estimate) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    precision = estimate + joint->n_runs;
    status = assemble(joint, NULL, joint->n_runs, noise, &l, &w, keep, &log_det, error);
    bool asked = joint->priors.wind.sd > 0;
    if (status >= 0) status = find_outing(joint, &l, &w, error);
    if (status >= 0)
        status = integrate_outing(joint, (struct cw_prior){joint->wind_found.mean, 0}, &l, &w,
                                  &log_det, error);
    if (status < 0) goto cleanup;
    for (size_t i = 0; i < joint->n_runs; i++)
        precision[i] = *cw_equations_at(&w.shared, l.cda + i, l.cda + i);
    status = finish(joint, NULL, joint->n_runs, &l, &w, &log_det, error);
    if (status < 0) goto cleanup;
    double *shared = value + joint->most_nodes;
    for (size_t p = l.data; p-- > 0;) shared[p] = cw_equations_give_back(&w.shared, p, shared);
    for (size_t road = 0; road < joint->n_roads; road++) {
        struct cw_profile *profile = &joint->profile[road];
        if (!keep[road].a) continue;
        double *nodes = shared - profile->n;
        for (size_t p = profile->n; p-- > 0;)
            nodes[p] = cw_equations_give_back(&keep[road], p, nodes);
        for (size_t p = 0; p < profile->n; p++) profile->coefficient_m[p] += nodes[p];
        struct cw_profile *mirrored = &joint->mirrored[road];
        if (mirrored->n)
            status = cw_profile_mirror(profile, mirrored->start_m + cw_profile_end(profile),
                                       mirrored, error);
    }
    *change = 0;
    for (size_t i = 0; i < joint->n_runs; i++) estimate[i] = joint->cda_m2[i] + shared[l.cda + i];
    for (size_t i = 0; i < joint->n_runs; i++) {
        double cda = setup_mean(joint, i, estimate, precision);
        *change = fmax(*change, fabs(cda / joint->cda_m2[i] - 1));
        joint->cda_m2[i] = cda;
    }
    for (size_t t = 0; t < joint->n_tyres; t++)
        joint->crr[t] = within(joint->crr[t] + shared[l.crr + t], 0, 0.03);
    for (size_t r = 0; r < joint->n_recordings; r++) {
        joint->scale[r] = within(joint->scale[r] + shared[l.scale + r], -0.05, 0.05);
    }
    joint->bends = within(joint->bends_found.mean, 0, 1);
    if (asked) set_wind(joint, within(joint->wind_found.mean, -10, 10));
    cw_joint_linearise(joint);
    for (size_t i = 0; i < joint->n_runs && status >= 0; i++)
        status = cw_smooth_motion(&joint->linear[i], noise, joint->priors.offset_sd_m,
                                  joint->priors.shift_sd_m, &joint->data[i], NULL, error);
    cw_joint_linearise(joint);
cleanup:
    if (keep)
        for (size_t road = 0; road < joint->n_roads; road++) free(keep[road].a);
    free(keep);
    free(value);
    free(estimate);
    workspace_free(&w);
    return status;
}
