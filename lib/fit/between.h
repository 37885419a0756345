/* How runs differ beyond the noise within them: by a scatter of their own, and by wind that is
 * another in each run. Neither shows within a run, where a steady wind looks like drag area; both
 * show in how runs of one setup disagree. */
#ifndef CW_FIT_BETWEEN_H
#define CW_FIT_BETWEEN_H

#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"
#include "fit/run_data.h"
#include "stats/components.h"

/* The parts of the covariance of runs' log CdA, each n x n. */
struct cw_between_parts {
    const double *noise; /* within the runs */
    double noise_df;     /* degrees of freedom that the noise's size is known from */
    const double *own;   /* the unit matrix */
    const double *wind;  /* of a wind sd of 1 m/s, see cw_between_wind */
};
enum { CW_BETWEEN_NOISE, CW_BETWEEN_OWN, CW_BETWEEN_WIND, CW_BETWEEN_PARTS };

/* Sets data's components: the noise, as large as stated to so many degrees of freedom; and where
 * runs are repeated (data->n > data->p, set before) the other two, of the order of 0.8 % of CdA and
 * 0.04 m/s or any larger (common practice, no source). Tried on made-up tables of eight runs, a b b
 * a a b b a: intervals of a difference then hold 98 times in 100 where there is nothing of them,
 * and 94 to 96 where runs scatter by 3 % or 10 % or winds differ by 0.5 m/s; of four runs 90 to
 * 100.
 */
void cw_between_components(const struct cw_between_parts *parts, struct cw_components_data *data);

/* How a run's log CdA answers to a headwind of 1 m/s that is not known of: twice the mean of v over
 * that of v2, along the road. A headwind w is taken to make v2 of the drag (v + w)2. */
double cw_between_by_wind(const struct cw_run_data *data);

/* Correlation of the winds of two runs that start apart_s seconds from each other (0: one and the
 * same): half of their variance is each run's own, half wanders over a quarter of an hour. */
double cw_between_alike(double apart_s);

/* Covariance of the log CdA of two runs (of one and the same: apart_s is 0) that start apart_s
 * seconds from each other, where winds that nobody knows of have an sd of 1 m/s; negative where
 * they ride the road opposite ways. */
double cw_between_wind(const struct cw_run_data *a, const struct cw_run_data *b, double apart_s);

/* Widens a run's own CdA by what its own wind may have done to it. */
enum cw_status cw_between_widen(const struct cw_components *components,
                                const struct cw_run_data *data, struct cw_estimate *cda_m2,
                                struct cw_error *error);

#endif
