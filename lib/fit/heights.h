/* What is known beforehand of recorded heights, by where they come from. */
#ifndef CW_FIT_HEIGHTS_H
#define CW_FIT_HEIGHTS_H

#include <stdbool.h>

#include "fit/reml.h"
#include "outing/outing.h"

struct cw_heights_prior {
    double drift_sd_m, white_sd_m; /* medians */
    double offset_sd_m;            /* a run's heights against the road's */
    struct cw_reml_prior lag_s;    /* a device's */
    bool mapped; /* of the place, the same at each pass (fit/ground.h), and not of the recorder */
    bool scaled; /* differences of height may be off by a factor */
};

/* Common practice, no source: barometric heights are smoothed by the recorder and lag by some
 * seconds, or are not and do not: what is between may be either; satellite ones drift by metres and
 * hardly lag; surveyed ones do neither. A constant. */
const struct cw_heights_prior *cw_heights_prior(enum cw_elevation elevation);

#endif
