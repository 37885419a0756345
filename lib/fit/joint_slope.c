/* The slope of the restricted likelihood by the noise: the way back through elimination, by the
 * unknowns' second moments (fit/moments.h). What is shared comes first, then each road's profile
 * and each run's own (fit/front.h), whose moments the filter's way back takes (cw_whiten_slope). */
#include <stdlib.h>
#include <string.h>

#include "fit/front.h"
#include "fit/moments.h"

static enum cw_status add_slope(const struct cw_joint *joint, const size_t *subset, size_t n,
                                const struct cw_noise *noise, const struct cw_joint_workspace *w,
                                double *slope, struct cw_error *error) {
    size_t shared = w->layout.n;
    double *moment = calloc(shared * shared + 2 * shared, sizeof *moment);
    if (!moment) return cw_error_memory(error);
    enum cw_status status = CW_OK;
    moment[w->layout.data * shared + w->layout.data] = 1;
    cw_moments_add_all(&w->shared, w->layout.data, moment, moment + shared * shared);
    for (size_t road = 0; road < joint->n_roads && status >= 0; road++)
        if (w->road[road].n)
            status = cw_front_slope(joint, subset, n, road, noise, w, moment, slope, error);
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
    status =
        cw_joint_likelihood(joint, subset, n, noise, &w, NULL, NULL, minus_2_log_likelihood, error);
    if (status >= 0) status = add_slope(joint, subset, n, noise, &w, slope, error);
    cw_joint_workspace_free(joint, &w);
    return status;
}
