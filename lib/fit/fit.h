/* The fit of an outing: CdA and Crr run by run, alone and together, with the noise that was found.
 *
 * The noise model's variances, the profiles' roughness and the recorders' lags are found once, by
 * REML over all runs together. A run alone is then fitted by the same equations with no other run
 * in them. */
#ifndef CW_FIT_FIT_H
#define CW_FIT_FIT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"
#include "base/public.h"
#include "fit/between.h"
#include "fit/budget.h"
#include "fit/information.h"
#include "fit/joint.h"
#include "fit/noise.h"
#include "fit/prepare.h"
#include "fit/reml.h"

CW_PUBLIC_BEGIN

struct cw_fit_run {
    size_t run;   /* index into the runs found */
    size_t setup; /* index of its setup; (size_t)-1 if it has none */
    size_t tyres; /* index of its set of tyres */
    double mass_kg, density_kgm3;
    /* Alone. The correlation is that between CdA and Crr; where it leaves them undetermined,
     * identifiable is false and neither estimate means anything. CdA may be known where Crr is
     * not. */
    struct cw_estimate alone_cda_m2, alone_crr;
    double correlation;
    bool identifiable, crr_known;
    struct cw_estimate together_cda_m2;
    bool together_identifiable;
    double *gust_ms; /* owned by the fit; the likeliest wind about its mean at each grid point of
                      * joint.data */
};

/* A recording's own unknowns. */
struct cw_fit_recorder {
    double lag_s, lag_error_s;
    double scale; /* relative error of the speeds */
};

/* Owns what it points to, where a field does not say that it is borrowed. */
struct cw_fit {
    struct cw_ridden of; /* borrowed */
    struct cw_place place;
    size_t n_runs;
    struct cw_fit_run *runs;
    size_t n_tyres;
    const char **tyres; /* names, borrowed from the outing */
    struct cw_estimate *crr;
    bool crr_given, *crr_identifiable;
    size_t n_recorders;
    struct cw_fit_recorder *recorders;
    struct cw_noise noise;
    size_t n_noise; /* noise parameters, then lags */
    double noise_covariance[CW_REML_MOST][CW_REML_MOST];
    struct cw_information information;
    /* Covariances of x = (Crr, CdA), n x n each, n as in information: of the estimates; the same
     * with the lags held; and those with one noise parameter moved by move[] (0: not moved), one
     * after the other. */
    double *covariance, *held, *moved;
    double move[CW_REML_MOST];
    struct cw_budget budget;
    struct cw_components between; /* how runs differ beyond noise: parts as in fit/between.h */
    struct cw_joint joint;        /* motion, profiles: what pictures are drawn from */
    size_t n_roads;
    struct cw_road *roads; /* lines on the ground */
    size_t evaluations;    /* of the likelihood, for the curious */
};

/* Fits. CW_E_DATA when no run is kept or none has elevations; CW_E_NUMERIC. Free with cw_fit_free,
 * also after an error. What input points to must outlive it. */
enum cw_status cw_fit_outing(const struct cw_ridden *input, struct cw_fit *fit,
                             struct cw_error *error);
void cw_fit_free(struct cw_fit *fit);

/* Whether an interval says anything: a CdA known to half its value. */
bool cw_cda_known(const struct cw_estimate *cda_m2);

/* Satterthwaite's degrees of freedom of the variance of c'x, x as in fit->information: how well
 * the noise is known that the variance is made of (Satterthwaite 1946, Biometrics Bull. 2:110; as
 * for mixed models, Giesbrecht & Burns 1985, Biometrics 41:477, eq. 3). At least 1. */
double cw_fit_df(const struct cw_fit *fit, const double *contrast);

CW_PUBLIC_END

#endif
