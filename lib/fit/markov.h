/* A run as a Markov process: how its state moves from one grid point to the next, and what an
 * observation sees of it (derived in fit/README.md). The whitener and the smoother stand on it. */
#ifndef CW_FIT_MARKOV_H
#define CW_FIT_MARKOV_H

#include <stdbool.h>
#include <stddef.h>

#include "fit/lag.h"
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
    CW_STATES,
    CW_STATES_SIDE = (CW_STATES + 3) / 4 * 4 /* what rows of covariances are apart: whole fours */
};

/* What a step's length makes of the noise and the lag, wherever the step is. */
struct cw_markov_pace {
    double step_s;
    struct cw_lag_step lag;
    double keep_gust, gust, gust_rate; /* variances: of the fresh part, and that a second */
    double keep_drift, drift, keep_wander, wander, keep_jitter, jitter, keep_creep, creep;
    double adds, both; /* by the creep to the wander, and the covariance of their fresh parts */
};

/* Paces under one noise and one lag. Most steps are as long as one just before them: the last few
 * are kept, for they have all exponentials in them. */
enum { CW_MARKOV_PACES = 4 };
struct cw_markov_paces {
    const struct cw_noise *noise;
    double lag_s;
    size_t n; /* made so far */
    struct cw_markov_pace pace[CW_MARKOV_PACES];
};
/* noise must live as long as the paces. */
void cw_markov_paces_begin(struct cw_markov_paces *paces, const struct cw_noise *noise,
                           double lag_s);

/* From point i to point i + 1. The balance's forcing is D = r + H eta at both points. */
struct cw_markov_step {
    double transition[CW_STATES][CW_STATES];
    double noise[CW_STATES][CW_STATES_SIDE]; /* covariance */
    /* Of shift and energy: per m/s of gust at i, were it gone at i + 1, and per m/s of it there. */
    double by_gust[2], by_gust_next[2];
    /* Of the forced states: per unit of D at i and at i + 1, per metre of height lost, and per
     * metre of H eta where the heights are felt at i and at i + 1. */
    double here[CW_FORCED], there[CW_FORCED], loss[CW_FORCED];
    double felt_here[CW_FORCED], felt_there[CW_FORCED];
};
/* paces: of the linearisation's own lag. */
void cw_markov_step_make(const struct cw_linear *linear, size_t i, struct cw_markov_paces *paces,
                         struct cw_markov_step *step);
/* The same step under another noise or lag: what the balance makes of it is taken from step, of
 * which linear may differ only in how heights are felt. */
void cw_markov_step_moved(const struct cw_linear *linear, size_t i, struct cw_markov_paces *paces,
                          const struct cw_markov_step *step, struct cw_markov_step *moved);

/* What may be other than zero in a transition, row by row: TERM(to, from). */
#define CW_MARKOV_TERMS(TERM)                                                                      \
    TERM(SHIFT, SHIFT)                                                                             \
    TERM(SHIFT, ENERGY)                                                                            \
    TERM(SHIFT, GUST)                                                                              \
    TERM(ENERGY, SHIFT)                                                                            \
    TERM(ENERGY, ENERGY)                                                                           \
    TERM(ENERGY, GUST)                                                                             \
    TERM(LATE, SHIFT)                                                                              \
    TERM(LATE, ENERGY)                                                                             \
    TERM(LATE, LATE)                                                                               \
    TERM(LATE, GUST)                                                                               \
    TERM(LATE, DRIFT)                                                                              \
    TERM(GUST, GUST)                                                                               \
    TERM(DRIFT, DRIFT)                                                                             \
    TERM(WANDER, WANDER)                                                                           \
    TERM(WANDER, CREEP)                                                                            \
    TERM(JITTER, JITTER)                                                                           \
    TERM(CREEP, CREEP)

/* Covariance of the states at a run's start, where shift and energy are held known. What the
 * recorder shows there is what it feels at the linearisation's start_node, but for an error. */
void cw_markov_start(const struct cw_linear *linear, const struct cw_noise *noise,
                     double covariance[CW_STATES][CW_STATES]);

enum cw_kind {
    CW_SEEN_SPEED,
    CW_SEEN_POSITION,
    CW_SEEN_TAPE,   /* where it stood still, at the last point */
    CW_SEEN_HEIGHT, /* the last: fit/trail.h keeps what the shift was before it */
    CW_SEEN_KINDS
};

/* rest = by_state . state + white noise, but for what unknowns add to an observation directly. */
struct cw_markov_observation {
    double by_state[CW_STATES];
    double rest; /* observed minus what the basis motion gives; a speed's with a r, which is in E */
    double variance;
};
/* An observation's variance, the same all through the run. */
double cw_markov_variance(const struct cw_run_data *data, enum cw_kind kind,
                          const struct cw_noise *noise);
/* false if point i has no such observation. */
bool cw_markov_observation_make(const struct cw_linear *linear, size_t i, enum cw_kind kind,
                                const struct cw_noise *noise,
                                struct cw_markov_observation *observation);

#endif
