/* How a fit was worked out: what comparisons, the budget and pictures are made from. Not public. */
#ifndef CW_FIT_WORKINGS_H
#define CW_FIT_WORKINGS_H

#include <stddef.h>

#include "fit/between.h"
#include "fit/budget.h"
#include "fit/fit.h"
#include "fit/information.h"
#include "fit/joint.h"
#include "fit/noise_search.h"
#include "fit/recording_air.h"
#include "fit/reml.h"
#include "fit/ways.h"
#include "road/road.h"

struct cw_fit_workings {
    size_t n_noise; /* noise parameters, then lags */
    double noise_covariance[CW_REML_MOST][CW_REML_MOST];
    struct cw_information information;
    /* Covariances of x = (Crr, CdA), n x n each, n as in information, with what bicycles have as a
     * prior (cw_information_solve_usual): of the estimates; the same
     * with the lags held; and those with one noise parameter moved by move[] (0: not moved), one
     * after the other. */
    double *covariance, *held, *moved;
    double *value; /* those estimates: what is compared */
    double move[CW_REML_MOST];
    struct cw_recording_air *air; /* one a recording */
    struct cw_budget budget;
    struct cw_components between; /* how runs differ beyond noise: parts as in fit/between.h */
    struct cw_joint joint;        /* motion, profiles: what pictures are drawn from */
    struct cw_fit_ways ways;      /* what whoever compares asks of the joint */
    struct cw_road *roads;        /* lines on the ground */
    size_t evaluations;           /* of the likelihood, for the curious */
};

/* Satterthwaite's degrees of freedom of the variance of c'x, x as in information: how well
 * the noise is known that the variance is made of (Satterthwaite 1946, Biometrics Bull. 2:110; as
 * for mixed models, Giesbrecht & Burns 1985, Biometrics 41:477, eq. 3). At least 1. */
double cw_fit_df(const struct cw_fit *fit, const double *contrast);

#endif
