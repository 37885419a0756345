#include "fit/trial.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "fit/joint_equations.h"

void cw_trial_free(struct cw_trial *trial) {
    size_t pieces = trial->kept ? trial->joint->pieces.first[trial->joint->n_runs] : 0;
    for (size_t p = 0; p < pieces; p++) free(trial->kept[p].product);
    free(trial->kept);
    free(trial->subset);
    *trial = (struct cw_trial){0};
}

enum cw_status cw_trial_make(const struct cw_joint *joint, const struct cw_noise *noise,
                             struct cw_trial *trial, struct cw_error *error) {
    *trial = (struct cw_trial){.joint = joint, .noise = noise, .minus_2_log = NAN};
    trial->kept = calloc(joint->pieces.first[joint->n_runs] + 1, sizeof *trial->kept);
    trial->subset = malloc((joint->n_runs + 1) * sizeof *trial->subset);
    return trial->kept && trial->subset ? CW_OK : cw_error_memory(error);
}

/* Of the run's road, evenly over the outing, the run in the place of the one before it. */
static size_t choose(const struct cw_trial *trial, size_t run) {
    const struct cw_joint *joint = trial->joint;
    size_t n = 0, own = 0, most;
    for (size_t i = 0; i < joint->n_runs; i++) {
        if (joint->data[i].road != joint->data[run].road) continue;
        if (i == run) own = n;
        trial->subset[n++] = i;
    }
    most = n < CW_TRIAL_MOST ? n : CW_TRIAL_MOST;
    for (size_t k = 0; k < most; k++) {
        size_t at = k * n / most, next = (k + 1) * n / most;
        trial->subset[k] = at <= own && own < next ? run : trial->subset[at];
    }
    return most;
}

/* Keeps what was whitened of the subset's runs, but for that of one (SIZE_MAX: of none). */
static void keep(struct cw_trial *trial, const struct cw_joint_workspace *w, const size_t *subset,
                 size_t n, size_t but) {
    const size_t *first = trial->joint->pieces.first;
    for (size_t slot = 0; slot < n; slot++) {
        size_t i = cw_joint_run_of(subset, slot);
        for (size_t p = first[i]; p < first[i + 1] && i != but; p++)
            if (!trial->kept[p].product) trial->kept[p] = w->normal[p];
    }
}

enum cw_status cw_trial_likelihood(struct cw_trial *trial, size_t run, bool changed,
                                   double *minus_2_log, struct cw_error *error) {
    const struct cw_joint *joint = trial->joint;
    bool all = joint->n_runs <= CW_TRIAL_MOST;
    struct cw_joint_workspace w;
    *minus_2_log = trial->minus_2_log;
    if (!changed && !isnan(trial->minus_2_log)) return CW_OK;
    size_t n = all ? joint->n_runs : choose(trial, run);
    const size_t *subset = all ? NULL : trial->subset, *first = joint->pieces.first;
    enum cw_status status = cw_joint_workspace_alloc(joint, subset, n, false, &w, error);
    if (status < 0) return status;
    cw_joint_lend(joint, subset, n, trial->kept, &w);
    for (size_t p = first[run]; p < first[run + 1] && changed; p++) w.normal[p].product = NULL;
    status =
        cw_joint_likelihood(joint, subset, n, trial->noise, &w, NULL, NULL, minus_2_log, error);
    keep(trial, &w, subset, n, all && !changed ? SIZE_MAX : run);
    cw_joint_workspace_free(joint, &w);
    if (status >= 0 && all && !changed) trial->minus_2_log = *minus_2_log;
    return status;
}

void cw_trial_accept(struct cw_trial *trial, size_t run) {
    const size_t *first = trial->joint->pieces.first + run;
    for (size_t p = first[0]; p < first[1]; p++) {
        free(trial->kept[p].product);
        trial->kept[p].product = NULL;
    }
    trial->minus_2_log = NAN;
}
