/* A run as a Markov process: how its state moves from one grid point to the next, and what an
 * observation sees of it (derived in fit/README.md). The whitener and the smoother stand on it. */
#ifndef CW_FIT_MARKOV_H
#define CW_FIT_MARKOV_H

#include <stdbool.h>
#include <stddef.h>

#include "fit/linear.h"
#include "fit/noise.h"

enum cw_state {
    CW_STATE_SHIFT,  /* ds: true place less the basis motion's, m */
    CW_STATE_ENERGY, /* E: height left to spend, m */
    CW_STATE_GUST,   /* wind along the road about its mean, m/s */
    CW_STATE_DRIFT,  /* of the recorded height, m */
    CW_STATE_WANDER, /* of the recorded position along the road, m */
    CW_STATES
};

/* From point i to point i + 1. The balance's forcing is D = r + H eta at both points. */
struct cw_markov_step {
    double transition[CW_STATES][CW_STATES];
    double noise[CW_STATES][CW_STATES]; /* covariance */
    double here[2], there[2];           /* shift and energy per unit of D at i and at i + 1 */
    double loss[2];                     /* shift and energy per metre of height lost */
};
void cw_markov_step_make(const struct cw_linear *linear, size_t i, const struct cw_noise *noise,
                         struct cw_markov_step *step);

/* Covariance of the states at a run's start, where shift and energy are held known. */
void cw_markov_start(const struct cw_noise *noise, double covariance[CW_STATES][CW_STATES]);

enum cw_kind { CW_SEEN_SPEED, CW_SEEN_POSITION, CW_SEEN_HEIGHT, CW_SEEN_KINDS };

/* rest = by_state . state + white noise, but for what unknowns add to an observation directly. */
struct cw_markov_observation {
    double by_state[CW_STATES];
    double rest; /* observed minus what the basis motion gives; a speed's with a r, which is in E */
    double variance;
};
/* false if point i has no such observation. */
bool cw_markov_observation_make(const struct cw_linear *linear, size_t i, enum cw_kind kind,
                                const struct cw_noise *noise,
                                struct cw_markov_observation *observation);

#endif
