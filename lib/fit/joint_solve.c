#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/front.h"
#include "fit/smooth.h"

/* What all runs tell of bends and wind where those of one setup have one CdA: their equations, the
 * CdA columns added up setup by setup, with these two as the last to be eliminated. */
static enum cw_status find_outing(struct cw_joint *joint, struct cw_joint_workspace *w,
                                  struct cw_error *error) {
    const struct cw_joint_layout *l = &w->layout;
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
    cw_equations_add_prior(&tied, wind, joint->wind_ms, cw_joint_held(joint->priors.wind));
    cw_equations_add_prior(&tied, bends, joint->bends, cw_joint_held(joint->priors.bends));
    for (size_t p = 0; p < wind && status >= 0; p++)
        if (!cw_equations_eliminate(&tied, p, p + 1, row, &unused))
            status = cw_joint_no_solution(error);
    if (status < 0) goto cleanup;
    double of_wind = *cw_equations_at(&tied, wind, wind),
           both = *cw_equations_at(&tied, wind, bends),
           of_bends = *cw_equations_at(&tied, bends, bends), det = of_wind * of_bends - both * both;
    if (!(of_wind > 0) || !(det > 0)) {
        status = cw_joint_no_solution(error);
        goto cleanup;
    }
    if (!cw_equations_eliminate(&tied, wind, wind + 1, row, &unused))
        status = cw_joint_no_solution(error);
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

enum cw_status cw_joint_evaluate(const struct cw_joint *joint, const size_t *subset, size_t n,
                                 const struct cw_noise *noise, double *minus_2_log_likelihood,
                                 struct cw_information *information, struct cw_information *alone,
                                 struct cw_error *error) {
    struct cw_joint_workspace w;
    enum cw_status status = cw_joint_workspace_alloc(joint, subset, n, false, &w, error);
    if (status < 0) return status;
    status = cw_joint_likelihood(joint, subset, n, noise, &w, information, alone,
                                 minus_2_log_likelihood, error);
    cw_joint_workspace_free(joint, &w);
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
    struct cw_joint_workspace w;
    enum cw_status status = cw_joint_workspace_alloc(joint, NULL, joint->n_runs, true, &w, error);
    if (status < 0) return status;
    const struct cw_joint_layout *l = &w.layout;
    double *shared = calloc(l->n + joint->n_recordings, sizeof *shared);
    double *estimate = malloc(2 * joint->n_runs * sizeof *estimate);
    double *precision, *scale;
    if (!shared || !estimate) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    precision = estimate + joint->n_runs;
    scale = shared + l->n;
    status = cw_joint_assemble(joint, NULL, joint->n_runs, noise, &w, error);
    bool asked = joint->priors.wind.sd > 0;
    if (status >= 0) status = find_outing(joint, &w, error);
    if (status >= 0)
        status = cw_joint_integrate_outing(joint, (struct cw_prior){joint->wind_found.mean, 0}, &w,
                                           error);
    if (status < 0) goto cleanup;
    for (size_t i = 0; i < joint->n_runs; i++)
        precision[i] = *cw_equations_at(&w.shared, l->cda + i, l->cda + i);
    status = cw_joint_finish(joint, NULL, joint->n_runs, &w, error);
    if (status < 0) goto cleanup;
    for (size_t p = l->data; p-- > 0;) shared[p] = cw_equations_give_back(&w.shared, p, shared);
    for (size_t road = 0; road < joint->n_roads && status >= 0; road++) {
        struct cw_profile *profile = &joint->profile[road], *mirrored = &joint->mirrored[road];
        if (!w.road[road].n) continue;
        status = cw_front_give_back(joint, road, &w, shared, scale, error);
        if (status >= 0 && mirrored->n)
            status = cw_profile_mirror(profile, mirrored->start_m + cw_profile_end(profile),
                                       mirrored, error);
    }
    if (status < 0) goto cleanup;
    *change = 0;
    for (size_t i = 0; i < joint->n_runs; i++) estimate[i] = joint->cda_m2[i] + shared[l->cda + i];
    for (size_t i = 0; i < joint->n_runs; i++) {
        double cda = setup_mean(joint, i, estimate, precision);
        *change = fmax(*change, fabs(cda / joint->cda_m2[i] - 1));
        joint->cda_m2[i] = cda;
    }
    for (size_t t = 0; t < joint->n_tyres; t++)
        joint->crr[t] = within(joint->crr[t] + shared[l->crr + t], 0, 0.03);
    for (size_t k = 0; l->scale + k < l->bends; k++) scale[w.recording[k]] = shared[l->scale + k];
    for (size_t r = 0; r < joint->n_recordings; r++)
        joint->scale[r] = within(joint->scale[r] + scale[r], -0.05, 0.05);
    joint->bends = within(joint->bends_found.mean, 0, 1);
    if (asked) set_wind(joint, within(joint->wind_found.mean, -10, 10));
    cw_joint_linearise(joint);
    for (size_t i = 0; i < joint->n_runs && status >= 0; i++)
        status = cw_smooth_motion(&joint->linear[i], noise, joint->priors.offset_sd_m,
                                  joint->priors.shift_sd_m, &joint->data[i], NULL, error);
    cw_joint_linearise(joint);
cleanup:
    free(shared);
    free(estimate);
    cw_joint_workspace_free(joint, &w);
    return status;
}
