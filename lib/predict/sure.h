/* How sure predictions are: what moves them, and what of that two of them share. Inside the library
 * only. */
#ifndef CW_PREDICT_SURE_H
#define CW_PREDICT_SURE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"
#include "compare/together.h"
#include "predict/predict.h"

/* What may be off beside the numbers that can be given. */
enum cw_predict_hidden {
    CW_PREDICT_SETUP_LOAD = CW_PREDICT_NUMBER_NAMES, /* kg in a setup's load */
    CW_PREDICT_CRR_FALL,                             /* a kelvin */
    CW_PREDICT_SCALE,                                /* of the road's heights, relative */
    CW_PREDICT_TILT,                                 /* m over the road */
    CW_PREDICT_INPUTS
};

/* A ride's input. */
struct cw_predict_input {
    double value, sd;
    size_t owner; /* the case that says it: two cases that have it from one share its error */
    bool tied;    /* the outing's: what it is off by is a cause in the fit's own budget */
};

/* A ride with how its quantities answer. */
struct cw_predict_ride {
    struct cw_predict_input input[CW_PREDICT_INPUTS];
    size_t setup;                /* of the comparison that CdA or Crr are from */
    bool cda_fitted, crr_fitted; /* from there */
    bool crr_here;               /* Crr is of the ride's own temperature, whichever that is */
    double crr_at_c;             /* else of this one */
    double quantity[CW_PREDICT_QUANTITIES];
    /* By one standard uncertainty of each input; by log CdA and by Crr where they are fitted. */
    double by_input[CW_PREDICT_INPUTS][CW_PREDICT_QUANTITIES];
    double by_log_cda[CW_PREDICT_QUANTITIES], by_crr[CW_PREDICT_QUANTITIES];
};

/* Quantity q of a ride, less that of another where base is not NULL, with all that is not known of
 * it. together may be NULL where neither has anything fitted. */
enum cw_status cw_predict_estimate(const struct cw_predict_ride *ride,
                                   const struct cw_predict_ride *base,
                                   const struct cw_setups_together *together, size_t q,
                                   struct cw_estimate *estimate, struct cw_error *error);

#endif
