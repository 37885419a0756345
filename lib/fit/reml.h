/* Finding the noise: restricted maximum likelihood with stated priors and bounds. */
#ifndef CW_FIT_REML_H
#define CW_FIT_REML_H

#include <stddef.h>

#include "base/error.h"

enum { CW_REML_MOST = 25 };

/* What is known of a parameter beforehand: normal, within hard bounds. An sd of 0 holds it. Where
 * none_sd is not 0 it is as likely as not about 0, by that sd: a thing that is there or not. */
struct cw_reml_prior {
    double mean, sd, low, high, none_sd;
};

/* -2 log restricted likelihood at the parameters (logarithms of variances and times) and, where
 * slope is not NULL, its derivatives by them, as far as the function knows them: what it leaves as
 * it is, NaN, is had from differences. A negative status: not defined there (the search steps
 * back), but for CW_E_MEMORY, which ends the search with that. */
typedef enum cw_status (*cw_reml_function)(const double *parameter, void *state,
                                           double *minus_2_log, double *slope);

struct cw_reml {
    size_t n; /* 0: nothing was searched before */
    double parameter[CW_REML_MOST];
    /* Covariance of the parameters, from the curvature at the end, priors included. */
    double covariance[CW_REML_MOST][CW_REML_MOST];
    double minimum; /* -2 log of likelihood times priors */
    /* How the search had learned that its objective curves, inverted: where a search before it
     * ended another begins. */
    double inverse[CW_REML_MOST][CW_REML_MOST];
    size_t evaluations;
};

/* Minimises from parameter (in and out) within the priors' bounds, until a step promises less than
 * tolerance in -2 log likelihood (0.01: far below what the data say of a variance). A quasi-Newton
 * search (BFGS; Nocedal & Wright, Numerical Optimization, 2006, ch. 6). with_covariance: also the
 * curvature, by differences of slopes. */
enum cw_status cw_reml_minimise(cw_reml_function function, void *state, size_t n,
                                const struct cw_reml_prior *prior, double tolerance,
                                int with_covariance, struct cw_reml *reml, struct cw_error *error);

#endif
