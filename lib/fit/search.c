#include "fit/search.h"

#include <math.h>
#include <stdbool.h>

#include "fit/breaks.h"
#include "fit/heights.h"
#include "fit/noise_search.h"

enum { MOST = 32, FEW = 4, SAMPLES = 12000 };

/* Two, and as many more as breaks are found in; they are few. */
enum { ROUNDS = 6 };

/* What the noise is searched for in: all runs, or so many of them, evenly over the outing. */
struct searched {
    struct cw_joint *joint;
    size_t n;
    size_t run[MOST];
};

size_t cw_search_runs(const struct cw_joint *joint) {
    size_t most = joint->n_runs < MOST ? joint->n_runs : MOST, samples = 0;
    for (size_t i = 0; i < joint->n_runs; i++) samples += joint->data[i].n;
    while (most > FEW && most * samples > SAMPLES * joint->n_runs) most--;
    return most;
}

static struct searched searched_of(struct cw_joint *joint) {
    struct searched searched = {.joint = joint, .n = cw_search_runs(joint)};
    for (size_t k = 0; k < searched.n; k++) searched.run[k] = k * joint->n_runs / searched.n;
    return searched;
}

static enum cw_status likelihood(const double *parameter, void *state, double *minus_2_log,
                                 double *slope) {
    const struct searched *searched = state;
    struct cw_noise noise = cw_noise_from_log(parameter);
    bool all = searched->n == searched->joint->n_runs;
    const size_t *subset = all ? NULL : searched->run;
    cw_joint_set_lags(searched->joint, parameter + CW_NOISE_PARAMETERS);
    if (!slope)
        return cw_joint_evaluate(searched->joint, subset, searched->n, &noise, minus_2_log, NULL,
                                 NULL, NULL);
    return cw_joint_slope(searched->joint, subset, searched->n, &noise, minus_2_log, slope, NULL);
}

static bool any_seen(const struct cw_joint *joint, size_t column) {
    for (size_t i = 0; i < joint->n_runs; i++) {
        const struct cw_run_data *data = &joint->data[i];
        const double *seen[] = {data->speed_seen_ms, data->position_seen_m, data->height_seen_m};
        for (size_t j = 0; j < data->n; j++)
            if (isfinite(seen[column][j])) return true;
    }
    return false;
}

enum cw_status cw_search(struct cw_joint *joint, const struct cw_outing *outing,
                         struct cw_reml *reml, struct cw_error *error) {
    struct cw_reml_prior prior[CW_REML_MOST];
    struct searched searched = searched_of(joint);
    size_t n = CW_NOISE_PARAMETERS + joint->n_devices;
    cw_noise_priors(outing, prior);
    for (size_t d = 0; d < joint->n_devices; d++)
        prior[CW_NOISE_PARAMETERS + d] = cw_heights_prior(outing->elevation)->lag_s;
    /* What was not recorded has no noise to find. */
    if (!any_seen(joint, 0)) prior[CW_NOISE_SPEED_SD].sd = 0;
    if (!any_seen(joint, 2)) prior[CW_NOISE_DRIFT_SD].sd = prior[CW_NOISE_ELEVATION_SD].sd = 0;
    if (!joint->priors.mapped) prior[CW_NOISE_MAP_SD].sd = prior[CW_NOISE_MAP_LENGTH].sd = 0;
    if (!any_seen(joint, 1))
        prior[CW_NOISE_POSITION_SD].sd = prior[CW_NOISE_WANDER_SD].sd =
            prior[CW_NOISE_JITTER_SD].sd = 0;
    if (!any_seen(joint, 0) && !any_seen(joint, 1)) prior[CW_NOISE_CREEP_SD].sd = 0;
    reml->n = 0;
    for (size_t k = 0; k < n; k++) reml->parameter[k] = prior[k].mean;
    size_t evaluations = 0;
    for (int round = 0; round < ROUNDS; round++) {
        struct cw_noise noise = cw_noise_from_log(reml->parameter);
        cw_joint_set_lags(joint, reml->parameter + CW_NOISE_PARAMETERS);
        double change;
        bool lost = false;
        enum cw_status status = cw_joint_advance(joint, &noise, &change, error);
        if (status >= 0) status = cw_breaks_find(joint, &noise, &lost, error);
        if (status < 0) return status;
        if (round > 1 && (!lost || round + 1 == ROUNDS)) break;
        status = cw_reml_minimise(likelihood, &searched, n, prior, round == 0 ? 0.1 : 0.01,
                                  round > 0, reml, error);
        if (status < 0) return status;
        evaluations += reml->evaluations;
    }
    cw_joint_set_lags(joint, reml->parameter + CW_NOISE_PARAMETERS);
    reml->evaluations = evaluations;
    return CW_OK;
}
