/* Coasting, pedalling or braking: every sample's mode, by the best division of the ride.
 *
 * The ride is cut into pieces, each of one mode, so that the energy head of each piece is explained
 * by one line:
 *   coast     e = e0 - R(s) - CdA K(s)
 *   pedalling e = e0 - R(s) - CdA0 K(s) + (P / m g) t
 *   braking   e = e0 - R(s) - CdA0 K(s) - f s
 * where R is the loss to rolling and bearings, K that to the air for a CdA of 1 m2 and CdA0 a
 * guess: wide for a first division, then what coasts show in the middle. The cost
 * of a piece is half its weighted sum of squares, with normal priors on CdA, P and f inside their
 * bounds, what cadence and power say against the mode, what a fall of the speed says that no road
 * makes without a brake, and a fixed cost a piece; the division of
 * least total cost is found by dynamic programming. So an end is placed to a second or two where
 * heights are good, and where they are not, longer stretches decide and odd seconds do nothing. */
#ifndef CW_RUNS_MODES_H
#define CW_RUNS_MODES_H

#include <stddef.h>

#include "base/error.h"
#include "motion/motion.h"
#include "recording/recording.h"
#include "runs/balance.h"
#include "runs/options.h"
#include "runs/pedalling.h"

/* In a byte, for there is one a sample. */
enum __attribute__((packed)) cw_mode { CW_MODE_COAST, CW_MODE_PEDAL, CW_MODE_BRAKE };
#define CW_MODES 3

/* The softest pedalling, for 85 kg, and the softest braking, in parts of the weight, that is one.
 */
#define CW_PEDAL_LEAST_W 40.0
#define CW_BRAKE_LEAST 0.03

/* What a coast's CdA is likely to be: the middle and a standard deviation. */
struct cw_modes_guess {
    double cda_m2, sd_m2;
};
struct cw_modes_guess cw_modes_guess_first(const struct cw_runs_options *options);

/* The coasts of a division: the CdA that each shows, and how well. Owned; grows. */
struct cw_modes_shown {
    size_t n, capacity;
    struct cw_shown {
        double cda_m2, weight;
    } * at;
};
void cw_modes_shown_free(struct cw_modes_shown *shown);
/* Adds those of more. */
enum cw_status cw_modes_shown_add(struct cw_modes_shown *shown, const struct cw_modes_shown *more,
                                  struct cw_error *error);
/* Makes the guess the middle of what is shown, if that tells it to a tenth. Reorders shown. */
void cw_modes_learn(struct cw_modes_shown *shown, struct cw_modes_guess *guess);

/* Fills mode[n] by the guess, and adds what the coasts show to shown. Standing
 * still and samples without height or speed are CW_MODE_COAST: nothing there speaks against it. */
enum cw_status cw_modes_find(const struct cw_recording *recording, const struct cw_motion *motion,
                             const struct cw_balance *balance, const enum cw_pedalling *pedalling,
                             const struct cw_runs_options *options,
                             const struct cw_modes_guess *guess, enum cw_mode *mode,
                             struct cw_modes_shown *shown, struct cw_error *error);

#endif
