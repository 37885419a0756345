/* Smoothing a moving thing's track: a Kalman filter and fixed-interval smoother whose state is
 * value, rate and acceleration, driven by white jerk.
 *
 * Observed is either the value (a position, a counted distance) or the rate (a speed), at irregular
 * times, with holes. One or two channels (east and north) share the model and its covariance.
 *
 * Filter: dx = [rate, acceleration, jerk] dt with jerk of spectral density q; observation error
 * white with variance r. Smoother: the backward recursion of Durbin & Koopman, Time Series Analysis
 * by State Space Methods, 2nd ed. 2012, eq. 4.38-4.43; the same answer as Rauch, Tung & Striebel
 * 1965, but it inverts no matrix. q and r come from the data by maximum likelihood.
 *
 * Robust: an observation whose squared innovation exceeds 9 variances (14 for two channels) gets a
 * larger error variance, such that it stands at just that; an outlier therefore pulls little,
 * and its density in the likelihood falls off as a power, not as exp(-x2). But a speed that the
 * next one is nearer to than to what was predicted without it is none: the acceleration has changed
 * at once (the brakes are pulled), and its variance grows instead, however far apart samples are.
 *
 * What the white error means: a receiver's positions carry a slow wander of metres and a far
 * smaller error from point to point. Over the seconds that matter for speed the wander moves
 * as the rider moves and cannot be told from it, so it goes into the state; r is the
 * point-to-point part alone. */
#ifndef CW_MOTION_SMOOTHER_H
#define CW_MOTION_SMOOTHER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

enum cw_smoother_observed { CW_OBSERVED_VALUE = 0, CW_OBSERVED_RATE = 1 };

struct cw_smoother_noise {
    double observation_sd; /* sqrt(r), in the observation's unit */
    double jerk_density;   /* q, m2/s5 */
};

struct cw_smoother_track {
    size_t n;
    const double *time_s;      /* rising */
    const bool *restart;       /* true: nothing is carried over from the sample before */
    size_t channels;           /* 1 or 2 */
    const double *observed[2]; /* NaN: none at that time (the first channel decides) */
    enum cw_smoother_observed kind;
    bool robust; /* see above; off for a count that has no outliers */
};

/* What the smoother fills; arrays of n owned by the caller, one a channel. Values of a part between
 * two restarts that has no observation are NaN. value[] and rate_sd may be NULL; rate_sd holds for
 * either channel. */
struct cw_smoother_result {
    double *value[2], *rate[2], *acceleration[2];
    double *rate_sd;
};

/* Maximum likelihood, bounded: observation_sd in [low_sd, high_sd], sqrt(jerk_density) in
 * [0.01, 5]. Long tracks are judged by some 3,000 samples spread over them. CW_E_DATA if fewer than
 * 10 observations. */
enum cw_status cw_smoother_estimate(const struct cw_smoother_track *track, double low_sd,
                                    double high_sd, struct cw_smoother_noise *noise,
                                    struct cw_error *error);

enum cw_status cw_smoother_run(const struct cw_smoother_track *track,
                               const struct cw_smoother_noise *noise,
                               const struct cw_smoother_result *result, struct cw_error *error);

#endif
