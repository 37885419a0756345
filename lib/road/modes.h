/* Coasting, pedalling or braking: the most likely mode of every sample. */
#ifndef CW_ROAD_MODES_H
#define CW_ROAD_MODES_H

#include "base/error.h"
#include "recording/recording.h"
#include "road/balance.h"
#include "road/motion.h"
#include "road/pedalling.h"
#include "road/runs.h"

enum cw_mode { CW_MODE_COAST, CW_MODE_PEDAL, CW_MODE_BRAKE };
#define CW_MODES 3

/* The band of CdA and Crr that a coast may show. */
struct cw_band {
    double cda_low_m2, cda_high_m2, crr_low, crr_high;
};

/* Fills mode[n] with the most likely path (Viterbi) through the three modes. Each sample votes with
 * the density of its energy rate under each mode, weighted so that the samples of one window
 * together have one vote, and with what cadence and power say; a change of mode costs
 * 5 in log likelihood, so one odd second changes nothing and a few clear ones do. */
enum cw_status cw_modes_find(const struct cw_recording *recording, const struct cw_motion *motion,
                             const struct cw_balance *balance, const enum cw_pedalling *pedalling,
                             const struct cw_runs_options *options, const struct cw_band *band,
                             enum cw_mode *mode, struct cw_error *error);

/* A narrower band about the CdA that the recording's own coasts show (weighted median over those of
 * 10 s and more going down), or the options' band if there are less than 40 s of them. */
struct cw_band cw_modes_band(const struct cw_recording *recording, const struct cw_motion *motion,
                             const struct cw_balance *balance,
                             const struct cw_runs_options *options, const enum cw_mode *mode);

#endif
