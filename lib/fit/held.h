/* The fit of runs under a noise that is given: of runs that are only expected. */
#ifndef CW_FIT_HELD_H
#define CW_FIT_HELD_H

#include "base/error.h"
#include "fit/fit.h"
#include "fit/prepare.h"
#include "fit/reml.h"
#include "road/ridden.h"

/* How much of a fit is worked out. */
enum cw_fit_depth {
    /* Of the workings: joint, information, value and covariance. The budget has nothing but
     * what winds do to several sets of tyres: what is the same in all runs cancels between setups
     * of one load. */
    CW_FIT_INFORMATION,
    CW_FIT_ALL
};

/* As cw_fit_outing from where the runs are prepared, but with noise and lags as held has them:
 * nothing is searched for, and no losses or jumps are looked for (losses, jumps and gust_ms of the
 * runs stay empty). held: n, parameter (fit/noise_search.h, then a lag for each device) and
 * covariance count. Takes over prepared, also when it fails; of input, recordings and motions are
 * not looked at and may be NULL. answer, where CW_FIT_INFORMATION is to have degrees of freedom
 * (cw_fit_df): how variances answer to the noise, as cw_fit_answer tells it of fewer runs; else
 * NULL. Free with cw_fit_free, also after an error. */
enum cw_status cw_fit_held(const struct cw_ridden *input, struct cw_prepared *prepared,
                           const struct cw_reml *held, enum cw_fit_depth depth,
                           const double *answer, struct cw_fit *fit, struct cw_error *error);

/* By what part of itself the variance of c'x grows where the logarithm of a noise parameter does by
 * 1: CW_NOISE_PARAMETERS numbers, of a whole fit. Of more runs of the same kind it is the same. */
void cw_fit_answer(const struct cw_fit *fit, const double *contrast, double *answer);

#endif
