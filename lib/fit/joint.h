/* All runs of an outing at once: the joint normal equations and their restricted likelihood.
 *
 * Unknown are a height profile a road, CdA a run, Crr a set of tyres, a speed scale a
 * recording, and three nuisances a run. Each run brings its own whitened equations; they are
 * eliminated in the order own nuisances, profiles, scales, so that what is left speaks of
 * Crr and CdA alone: an information matrix J and vector b of a Gaussian likelihood
 * exp(-1/2 x'Jx + b'x) in x = (Crr of each set of tyres, CdA of each run), whole even where J is
 * singular because the data cannot tell them apart. */
#ifndef CW_FIT_JOINT_H
#define CW_FIT_JOINT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "fit/information.h"
#include "fit/linear.h"
#include "fit/noise.h"
#include "fit/profile.h"
#include "fit/run_data.h"
#include "fit/whiten.h"

/* Prior knowledge: normal, and stated. */
struct cw_prior {
    double mean, sd;
};

/* Of a set of tyres: known beforehand, or to be fitted (then the prior only steadies the search
 * and is not part of the information). */
struct cw_crr_prior {
    struct cw_prior prior;
    bool known;
};

struct cw_joint_priors {
    double offset_sd_m;     /* a run's heights against the road's */
    double shift_sd_m;      /* a run's place along the road */
    double scale_sd;        /* relative error of recorded speeds */
    struct cw_prior cda_m2; /* steadies the search; not part of the information */
};

struct cw_joint {
    size_t n_runs, n_roads, n_recordings, n_tyres;
    struct cw_run_data *data; /* a run each */
    struct cw_linear *linear;
    struct cw_profile *profile;     /* a road each: the reference */
    double *cda_m2;                 /* a run each: the reference, the mean of its setup */
    double *crr;                    /* a set of tyres each: the reference */
    double *lag_s;                  /* a recording each: given, see cw_joint_set_lags */
    double *scale;                  /* a recording each: the reference */
    struct cw_crr_prior *crr_prior; /* a set of tyres each */
    struct cw_joint_priors priors;
    struct cw_whitener *whitener;
    size_t most_nodes;
};

/* Takes over data (n_runs of them, owned from here on; also when it fails). spacing_m: of the
 * profiles' knots. References are set to plain values and profiles to the recorded heights. */
enum cw_status cw_joint_make(struct cw_run_data *data, size_t n_runs, size_t n_roads,
                             size_t n_recordings, size_t n_tyres,
                             const struct cw_joint_priors *priors,
                             const struct cw_crr_prior *crr_prior, double spacing_m,
                             struct cw_joint *joint, struct cw_error *error);
void cw_joint_free(struct cw_joint *joint);

/* Sets every run's factors from the reference. */
void cw_joint_linearise(struct cw_joint *joint);

/* Sets the recordings' lags and what depends on them (of a joint once linearised). A lag is no
 * unknown of the linear equations: the profile's own errors would pass for features that the lag
 * can be read from, and the lag would be claimed better known than it is. It is found with the
 * noise, by the likelihood that has the profile integrated out. */
void cw_joint_set_lags(struct cw_joint *joint, const double *lag_s);

/* -2 log restricted likelihood of the noise given subset, but for a constant; and, where
 * information is not NULL (allocated for the joint's n_tyres and the subset's n), the summary.
 * CW_E_NUMERIC if the equations cannot be solved. */
enum cw_status cw_joint_evaluate(const struct cw_joint *joint, const size_t *subset, size_t n,
                                 const struct cw_noise *noise, double *minus_2_log_likelihood,
                                 struct cw_information *information, struct cw_error *error);

/* Moves the reference to the solution under noise (profiles, CdA, Crr, speed scales, then
 * each run's motion) and linearises about it. *change: the largest relative move of a run's CdA. */
enum cw_status cw_joint_advance(struct cw_joint *joint, const struct cw_noise *noise,
                                double *change, struct cw_error *error);

#endif
