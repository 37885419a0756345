/* What a drag area means in seconds, metres and watts. */
#ifndef CW_COMPARE_ELSEWHERE_H
#define CW_COMPARE_ELSEWHERE_H

#include <stdbool.h>

#include "base/error.h"
#include "fit/fit.h"
#include "physics/descent.h"
#include "physics/forces.h"

/* The mean run of the road that most runs of a fit share: from their mean start to the place that,
 * on the mean, they still reach at 3 m/s. */
struct cw_mean_run {
    const struct cw_profile *profile;
    double start_m, length_m, entry_speed_ms;
    bool runs_out; /* the runs ended in standing still */
    struct cw_surroundings surroundings;
};

/* false when the fit has no such road. */
bool cw_mean_run_make(const struct cw_fit *fit, struct cw_mean_run *mean);

/* Coasts it in still air: seconds to its end, and metres to where it stands still if it runs
 * out (NaN if not). CW_E_DATA when it does not reach the end. */
enum cw_status cw_mean_run_coast(const struct cw_mean_run *mean, const struct cw_bicycle *bicycle,
                                 double *time_s, double *runout_m, struct cw_error *error);

/* Watts against drag, tyres and bearings at a steady speed on the flat in still air. */
double cw_flat_power_w(const struct cw_bicycle *bicycle, double density_kgm3, double gravity_ms2,
                       double speed_ms);

#endif
