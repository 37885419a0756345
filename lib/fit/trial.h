/* Runs on trial: what a change of one run's data does to the likelihood, with the profile and all
 * else open. What the whitening of the others came to is kept from one trial to the next. Where
 * runs are many, a run is tried beside so many of its road: these know the road as well as it need
 * be known, and all trials together cost what the runs do, not their square. */
#ifndef CW_FIT_TRIAL_H
#define CW_FIT_TRIAL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "fit/joint.h"
#include "fit/noise.h"
#include "fit/whiten.h"

/* A run is tried beside all others where they are no more than this with it. */
enum { CW_TRIAL_MOST = 32 };

/* Of a joint as it is linearised, and a noise; both are borrowed. */
struct cw_trial {
    const struct cw_joint *joint;
    const struct cw_noise *noise;
    struct cw_normal *kept; /* a piece each; without a product where it is not known */
    double minus_2_log;     /* of all runs as they are; NaN: not known */
    size_t *subset;
};

/* Free with cw_trial_free, also after an error. */
enum cw_status cw_trial_make(const struct cw_joint *joint, const struct cw_noise *noise,
                             struct cw_trial *trial, struct cw_error *error);
void cw_trial_free(struct cw_trial *trial);

/* -2 log likelihood of the run and those it is tried beside; changed: with its data other than they
 * were when it was asked for last. */
enum cw_status cw_trial_likelihood(struct cw_trial *trial, size_t run, bool changed,
                                   double *minus_2_log, struct cw_error *error);

/* The run's change is here to stay. */
void cw_trial_accept(struct cw_trial *trial, size_t run);

#endif
