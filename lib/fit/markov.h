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
    CW_STATE_LATE,   /* height that the recorder shows less the one that it feels, m, and that less
                      * what the basis motion gives */
    CW_FORCED,       /* the states up to here are driven by the balance and the profile */
    CW_STATE_GUST = CW_FORCED, /* wind along the road about its mean, m/s */
    CW_STATE_DRIFT,            /* of the height that the recorder feels, m */
    CW_STATE_WANDER,           /* of the recorded position along the road, slow, m */
    CW_STATE_JITTER,           /* the same, over seconds */
    CW_STATE_CREEP,            /* of the recorded speed, m/s; its sum is in the wander */
    CW_STATES
};

/* From point i to point i + 1. The balance's forcing is D = r + H eta at both points. */
struct cw_markov_step {
    double transition[CW_STATES][CW_STATES];
    double noise[CW_STATES][CW_STATES]; /* covariance */
    /* Of the forced states: per unit of D at i and at i + 1, per metre of height lost, and per
     * metre of H eta where the heights are felt at i and at i + 1. */
    double here[CW_FORCED], there[CW_FORCED], loss[CW_FORCED];
    double felt_here[CW_FORCED], felt_there[CW_FORCED];
};
void cw_markov_step_make(const struct cw_linear *linear, size_t i, const struct cw_noise *noise,
                         struct cw_markov_step *step);

/* Covariance of the states at a run's start, where shift and energy are held known. What the
 * recorder shows there is what it feels at the linearisation's start_node, but for an error. */
void cw_markov_start(const struct cw_linear *linear, const struct cw_noise *noise,
                     double covariance[CW_STATES][CW_STATES]);

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
