#include "fit/joint.h"
#include "fit/crew.h"
#include "fit/places.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The profile must reach where a lagging recorder's heights are looked up, and a little beyond. */
static const double margin_m = 60;
/* Of the profile that the first linearisation is about. */
static const double first_roughness_m = 0.1;
/* Of that through a map's heights, which are to be followed as they are. */
static const double map_roughness_m = 1;

/* A front has its road's coefficients in it and, at either end, eight states of each run. As many
 * coefficients as states, and no fewer than 40: a kilometre is as soon done whole.
 */
static enum cw_status cut(struct cw_joint *joint, struct cw_error *error) {
    size_t coefficients = CW_STATES * joint->n_runs;
    return cw_joint_cut(joint, coefficients > 40 ? coefficients : 40, error);
}

static void uncut(struct cw_joint *joint) {
    for (size_t p = 0; joint->places && p < joint->pieces.first[joint->n_runs]; p++)
        cw_places_free(&joint->places[p]);
    free(joint->places);
    joint->places = NULL;
    cw_pieces_free(&joint->pieces);
}

enum cw_status cw_joint_cut(struct cw_joint *joint, size_t coefficients, struct cw_error *error) {
    uncut(joint);
    enum cw_status status = cw_pieces_make(joint->data, joint->n_runs, joint->profile,
                                           joint->n_roads, coefficients, &joint->pieces, error);
    if (status < 0) return status;
    joint->places = calloc(joint->pieces.first[joint->n_runs], sizeof *joint->places);
    return joint->places ? CW_OK : cw_error_memory(error);
}

enum cw_status cw_joint_make(struct cw_run_data *data, size_t n_runs, size_t n_roads,
                             size_t n_recordings, size_t n_tyres,
                             const struct cw_joint_priors *priors,
                             const struct cw_crr_prior *crr_prior, double spacing_m,
                             struct cw_joint *joint, struct cw_error *error) {
    enum cw_status status = CW_OK;
    double *s = NULL, *h = NULL;
    *joint = (struct cw_joint){.n_runs = n_runs,
                               .n_roads = n_roads,
                               .n_recordings = n_recordings,
                               .n_tyres = n_tyres,
                               .data = data,
                               .priors = *priors,
                               .crr_fall_1k = CW_CRR_FALL_1K,
                               .bends = priors->bends.mean,
                               .bends_found = priors->bends,
                               .wind_ms = priors->wind.mean,
                               .wind_found = priors->wind};
    joint->linear = calloc(n_runs, sizeof *joint->linear);
    joint->profile = calloc(n_roads, sizeof *joint->profile);
    joint->mirrored = calloc(n_roads, sizeof *joint->mirrored);
    joint->ground = calloc(n_roads, sizeof *joint->ground);
    joint->cda_m2 = malloc(n_runs * sizeof *joint->cda_m2);
    joint->crr = malloc(n_tyres * sizeof *joint->crr);
    for (size_t i = 0; i < n_runs; i++)
        if (data[i].device + 1 > joint->n_devices) joint->n_devices = data[i].device + 1;
    joint->lag_s = calloc(joint->n_devices, sizeof *joint->lag_s);
    joint->scale = calloc(n_recordings, sizeof *joint->scale);
    joint->crr_prior = malloc(n_tyres * sizeof *joint->crr_prior);
    if (!joint->linear || !joint->profile || !joint->mirrored || !joint->ground || !joint->cda_m2 ||
        !joint->crr || !joint->lag_s || !joint->scale || !joint->crr_prior) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    for (size_t t = 0; t < n_tyres; t++) {
        joint->crr_prior[t] = crr_prior[t];
        joint->crr[t] = crr_prior[t].prior.mean;
    }
    size_t total = 0;
    for (size_t i = 0; i < n_runs; i++) {
        joint->cda_m2[i] = priors->cda_m2.mean;
        total += data[i].n;
        status = cw_linear_alloc(&data[i], &joint->linear[i], error);
        if (status < 0) goto cleanup;
    }
    s = malloc(total * sizeof *s);
    h = malloc(total * sizeof *h);
    if (!s || !h) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    for (size_t road = 0; road < n_roads; road++) {
        size_t n = 0, seen = 0;
        double low = INFINITY, high = -INFINITY;
        for (size_t i = 0; i < n_runs; i++) {
            if (data[i].road != road) continue;
            for (size_t j = 0; j < data[i].n; j++, n++) {
                s[n] = cw_run_data_place(&data[i], j);
                h[n] = data[i].height_seen_m[j];
                seen += isfinite(h[n]) ? 1 : 0;
                low = fmin(low, s[n]);
                high = fmax(high, s[n]);
            }
        }
        if (!n) continue;
        status = cw_profile_make(low - margin_m, high + margin_m, spacing_m, &joint->profile[road],
                                 error);
        if (status < 0) goto cleanup;
        if (joint->profile[road].n > joint->most_nodes) joint->most_nodes = joint->profile[road].n;
        if (seen) /* else level, as made */
            status = cw_profile_fit(&joint->profile[road], s, h, n, 0.3,
                                    priors->mapped ? map_roughness_m : first_roughness_m, error);
        if (status >= 0 && priors->mapped)
            status = cw_ground_make(&joint->profile[road], low, high, &joint->ground[road], error);
        if (status < 0) goto cleanup;
    }
    status = cw_crew_hire(joint, 1, error);
    for (size_t i = 0; i < n_runs && priors->mapped; i++)
        for (size_t j = 0; j < data[i].n; j++) data[i].height_seen_m[j] = NAN;
    for (size_t i = 0; i < n_runs && status >= 0; i++) {
        struct cw_profile *mirrored = &joint->mirrored[data[i].road];
        if (data[i].reversed && !mirrored->n)
            status =
                cw_profile_mirror(&joint->profile[data[i].road], data[i].mirror_m, mirrored, error);
    }
    if (status >= 0) status = cut(joint, error);
cleanup:
    free(s);
    free(h);
    if (status < 0) cw_joint_free(joint);
    return status;
}

void cw_joint_free(struct cw_joint *joint) {
    for (size_t i = 0; i < joint->n_runs; i++) {
        if (joint->linear) cw_linear_free(&joint->linear[i]);
        if (joint->data) cw_run_data_free(&joint->data[i]);
    }
    for (size_t i = 0; joint->profile && i < joint->n_roads; i++)
        cw_profile_free(&joint->profile[i]);
    for (size_t i = 0; joint->ground && i < joint->n_roads; i++) cw_ground_free(&joint->ground[i]);
    for (size_t i = 0; joint->mirrored && i < joint->n_roads; i++)
        cw_profile_free(&joint->mirrored[i]);
    uncut(joint);
    cw_crew_free(joint);
    free(joint->data);
    free(joint->linear);
    free(joint->profile);
    free(joint->mirrored);
    free(joint->ground);
    free(joint->cda_m2);
    free(joint->crr);
    free(joint->lag_s);
    free(joint->scale);
    free(joint->crr_prior);
    *joint = (struct cw_joint){0};
}

const struct cw_profile *cw_joint_profile(const struct cw_joint *joint, size_t i) {
    const struct cw_run_data *data = &joint->data[i];
    return data->reversed ? &joint->mirrored[data->road] : &joint->profile[data->road];
}

bool cw_joint_warms(const struct cw_joint *joint) {
    for (size_t i = 0; i < joint->n_runs; i++)
        if (joint->data[i].warmer_k != 0) return true;
    return false;
}

double cw_joint_own_crr(const struct cw_joint *joint, size_t i, double crr) {
    return cw_crr_warmer(joint->crr_fall_1k, joint->data[i].warmer_k) * crr;
}

void cw_joint_linearise(struct cw_joint *joint) {
    for (size_t i = 0; i < joint->n_runs; i++) {
        const struct cw_run_data *data = &joint->data[i];
        struct cw_basis basis = {.profile = cw_joint_profile(joint, i),
                                 .cda_m2 = joint->cda_m2[i],
                                 .crr = joint->crr[data->tyres],
                                 .lag_s = joint->lag_s[data->device],
                                 .scale = joint->scale[data->recording],
                                 .bends = joint->bends,
                                 .bends_any = joint->bends_any,
                                 .crr_warm = joint->crr_fall_1k * data->warmer_k};
        cw_linear_set(&joint->linear[i], &basis);
    }
}

void cw_joint_set_lags(struct cw_joint *joint, const double *lag_s) {
    for (size_t i = 0; i < joint->n_runs; i++) {
        size_t device = joint->data[i].device;
        if (lag_s[device] != joint->lag_s[device])
            cw_linear_set_lag(&joint->linear[i], cw_joint_profile(joint, i), lag_s[device]);
    }
    memcpy(joint->lag_s, lag_s, joint->n_devices * sizeof *lag_s);
}
