/* What of an outing's motion and road is asked once it is fitted. Of the workings of a fit, whoever
 * compares and explains looks at these, the information, the covariances, the air and the budget,
 * and at no sample: so that an outing can be compared where its recordings are not at hand. */
#ifndef CW_FIT_WAYS_H
#define CW_FIT_WAYS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "fit/between.h"
#include "fit/profile.h"
#include "runs/run.h"

struct cw_fit;

/* How a run went. */
struct cw_fit_way {
    size_t recording, road;
    bool reversed;
    double from_m, to_m; /* its ends along the road, as its rider counts */
    double rolling_m;    /* and the last place where it still rolled at 3 m/s: times to slower
                          * places depend on anything */
    double entry_speed_ms;
    double wind_along_ms;    /* as the outing's was taken to be, a headwind to its rider */
    double air_density_kgm3; /* at the place, at its time */
    double warmer_k;         /* than the outing's runs are on the mean */
    double crr_share;        /* what of its tyres' Crr it had, for that */
    double cda_m2;           /* that all was linearised about */
    struct cw_wind_answer by_wind;
    double worst_m, worst_ms; /* where along the road the smoothed gust is strongest, and how */
};

struct cw_fit_ways {
    struct cw_fit_way *at;     /* one a run */
    bool warms;                /* runs differ in temperature */
    double *crr;               /* a set of tyres each: what all was linearised about */
    struct cw_profile profile; /* of the main road */
};

/* From the joint of a fit that is otherwise whole, with which they are freed. */
enum cw_status cw_fit_ways_make(struct cw_fit *fit, struct cw_error *error);
void cw_fit_ways_free(struct cw_fit_ways *ways);

/* Whether it rides the main road, the way that pictures and times are of. */
static inline bool cw_fit_way_is_main(const struct cw_fit_way *way) {
    return way->road == CW_ROAD_MAIN && !way->reversed;
}

#endif
