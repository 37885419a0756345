/* Five runs on two roads, of two recordings, on two sets of tyres, one of known Crr; differing in
 * what was recorded of them, and one of them ridden the other way: what tests of the joint
 * equations stand on. */
#ifndef TEST_FIVE_RUNS_H
#define TEST_FIVE_RUNS_H

#include "fit/joint.h"

enum { RUNS = 5, ROADS = 2, RECORDINGS = 2, TYRES = 2, CUTS = 3, REVERSED = 2 /* its number */ };

extern const struct cw_noise five_runs_noise;
extern const struct cw_joint_priors five_runs_priors;
extern const struct cw_crr_prior five_runs_crr_prior[TYRES];
/* Of a front: their roads have 51; of the first cut they are whole. */
extern const size_t five_runs_coefficients[CUTS];

/* Linearised, with lags. */
void five_runs_make(struct cw_joint *joint, int cut);

#endif
