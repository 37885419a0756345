/* The slope of the restricted likelihood by the noise: the way back through elimination, by the
 * unknowns' second moments (fit/moments.h). What is shared comes first, then each road's profile
 * and each run's own (fit/front.h), whose moments the filter's way back takes (cw_whiten_slope). */
#include <stdlib.h>
#include <string.h>

#include "fit/crew.h"
#include "fit/front.h"
#include "fit/moments.h"
#include "fit/places.h"

/* What a run answers to its lag is its difference where that is so much larger. */
static const double lag_trifle_s = 1e-5;

/* What comes of a piece: by the noise's parameters, then by its device's lag. */
enum { ANSWERS = CW_NOISE_PARAMETERS + 1 };

struct way_back {
    const struct cw_joint *joint;
    const struct cw_noise *noise;
    const struct cw_joint_workspace *w;
    double **moment; /* a piece each */
    double *answer;  /* a piece each, ANSWERS */
};

static enum cw_status back_through(void *context, struct cw_whitener *whitener, size_t i, size_t p,
                                   struct cw_error *error) {
    struct way_back *back = context;
    const struct cw_linear *linear = &back->joint->linear[i];
    double *later = malloc(3 * linear->n * sizeof *later), *answer = back->answer + p * ANSWERS;
    struct cw_nodes *node = malloc(linear->n * sizeof *node);
    enum cw_status status = CW_E_MEMORY;
    if (later && node) {
        struct cw_linear there = cw_linear_at_lag(linear, cw_joint_profile(back->joint, i),
                                                  linear->lag_s + lag_trifle_s, later, node);
        status = cw_whiten_slope(whitener, linear, back->noise, &back->w->normal[p],
                                 &back->w->places[p], &(struct cw_later){&there, lag_trifle_s},
                                 back->moment[p], answer, answer + CW_NOISE_PARAMETERS);
    }
    free(later);
    free(node);
    return status < 0 ? cw_error_memory(error) : CW_OK;
}

static enum cw_status add_slope(const struct cw_joint *joint, const size_t *subset, size_t n,
                                const struct cw_noise *noise, const struct cw_joint_workspace *w,
                                double *slope, struct cw_error *error) {
    size_t shared = w->layout.n, pieces = joint->pieces.first[joint->n_runs];
    struct way_back back = {joint, noise, w, calloc(pieces, sizeof *back.moment),
                            calloc(pieces * ANSWERS, sizeof *back.answer)};
    double *moment = calloc(shared * shared + 2 * shared, sizeof *moment);
    enum cw_status status = moment && back.moment && back.answer ? CW_OK : cw_error_memory(error);
    if (status < 0) goto cleanup;
    moment[w->layout.data * shared + w->layout.data] = 1;
    cw_moments_add_all(&w->shared, w->layout.data, moment, moment + shared * shared);
    for (size_t road = 0; road < joint->n_roads && status >= 0; road++)
        if (w->road[road].n)
            status = cw_front_moments(joint, subset, n, road, noise, w, moment, back.moment, slope,
                                      error);
    if (status >= 0) status = cw_crew_work(joint, subset, n, back_through, &back, error);
    for (size_t k = 0; k < n && status >= 0; k++) {
        size_t i = cw_joint_run_of(subset, k);
        for (size_t p = joint->pieces.first[i]; p < joint->pieces.first[i + 1]; p++) {
            const double *answer = back.answer + p * ANSWERS;
            for (size_t a = 0; a < CW_NOISE_PARAMETERS; a++) slope[a] += answer[a];
            slope[CW_NOISE_PARAMETERS + joint->data[i].device] += answer[CW_NOISE_PARAMETERS];
        }
    }
cleanup:
    for (size_t p = 0; back.moment && p < pieces; p++) free(back.moment[p]);
    free(back.moment);
    free(back.answer);
    free(moment);
    return status;
}

enum cw_status cw_joint_slope(const struct cw_joint *joint, const size_t *subset, size_t n,
                              const struct cw_noise *noise, double *minus_2_log_likelihood,
                              double *slope, struct cw_error *error) {
    struct cw_joint_workspace w;
    enum cw_status status = cw_joint_workspace_alloc(joint, subset, n, true, &w, error);
    if (status < 0) return status;
    memset(slope, 0, (CW_NOISE_PARAMETERS + joint->n_devices) * sizeof *slope);
    w.places = joint->places;
    status =
        cw_joint_likelihood(joint, subset, n, noise, &w, NULL, NULL, minus_2_log_likelihood, error);
    if (status >= 0) status = add_slope(joint, subset, n, noise, &w, slope, error);
    cw_joint_workspace_free(joint, &w);
    return status;
}
