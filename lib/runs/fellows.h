/* Who coasts with whom: which samples may be taken for a coast when the ground is asked for, and
 * what the ground, once told by fellows, says of stretches that looked pedalled or braked. */
#ifndef CW_RUNS_FELLOWS_H
#define CW_RUNS_FELLOWS_H

#include <stdbool.h>
#include <stddef.h>

#include "motion/motion.h"
#include "recording/recording.h"
#include "runs/modes.h"
#include "runs/options.h"
#include "runs/pedalling.h"
#include "runs/relief.h"

/* A recording's samples with what is known of them. Borrowed. */
struct cw_fellow {
    const struct cw_recording *recording;
    const struct cw_motion *motion;
    const enum cw_pedalling *pedalling;
    const double *even_m; /* the head, with a coast's losses added back (runs/balance.h) */
    double cda_m2;        /* what its coasts show in the middle */
    const struct cw_runs_options *options;
};

/* Fills coasts[n]: where mode says so, and breaks in a coast that only heights speak against; but
 * for two seconds at ends that energy alone tells. A break is what is neither coast nor pedalled by
 * the columns. As long as nobody knows how far heights are off (relief), one of up to 12 s between
 * two coasts is let pass; later each that gains and loses nowhere more than heights may be off,
 * from or to a coast, but for the braking to a standstill. */
void cw_fellows_tell(const struct cw_fellow *fellow, const enum cw_mode *mode,
                     const struct cw_relief *relief, bool *coasts);

/* Makes a coast of what by_fellows says others coast through, and what they tell shows to be one:
 * stretches said to be pedalled or braked, by energy alone, that gain or lose less than half of
 * what the softest of that would, or no more than a breeze of 1.5 m/s that the others did not have;
 * what follows the first 8 s of getting going, if most of it is where others coast and it gains no
 * more than errors of the head (balance) make; touches of a few seconds within a coast; and, where
 * fellows end, up to 6 s beside a coast, or 8 s of getting going before one, that only heights
 * speak against, as far as they may be off. */
void cw_fellows_mend(const struct cw_fellow *fellow, const struct cw_relief *relief,
                     const struct cw_balance *balance, const bool *by_fellows, enum cw_mode *mode);

#endif
