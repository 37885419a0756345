/* The energy balance along a ride: how fast mechanical energy is lost, and what a coast, pedalling
 * or braking would make of it.
 *
 * Energy is written as a head, e = h + v2 / 2g (metres). A coast loses it at
 *   (Crr + bearings / m g + rho CdA v2 / 2 m g) v   metres a second
 * (design equation of the energy balance, differentiated; the wheels' inertia is left out, 1 %). */
#ifndef CW_RUNS_BALANCE_H
#define CW_RUNS_BALANCE_H

#include <stddef.h>

#include "base/error.h"
#include "motion/motion.h"
#include "recording/recording.h"
#include "runs/runs.h"

struct cw_balance {
    size_t n;
    double *head_m;  /* e; NaN where height or speed is missing */
    double *rate_ms; /* de/dt by a straight line over some seconds; NaN where unknown */
    double *rate_sd_ms;
    double *window_s; /* the time that line spans */
    /* Error of head_m: its variance times the time over which errors go together. */
    double *density_m2s;
};

/* The loss of head a metre at a speed, for given CdA and Crr. */
double cw_balance_loss(const struct cw_runs_options *options, double cda_m2, double crr,
                       double speed_ms);

/* Windows of 6 s (fine heights) to 12 s (heights uncertain by some decimetres). Free with
 * cw_balance_free, also after an error. */
enum cw_status cw_balance_make(const struct cw_recording *recording, const struct cw_motion *motion,
                               struct cw_balance *balance, struct cw_error *error);
void cw_balance_free(struct cw_balance *balance);

#endif
