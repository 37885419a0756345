/* A made-up outing with known truth: what studies measure the fit against, and what a newcomer
 * can play with before going out.
 *
 * The descents are integrated with physics/descent, not with any discretisation of the fit. The
 * errors of the recording are of the sizes that ordinary devices show. Each kind of noise has its
 * own stream of random numbers, so that switching one off leaves the others the same. */
#ifndef CW_SIMULATE_SIMULATE_H
#define CW_SIMULATE_SIMULATE_H

#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "outing/outing.h"
#include "recording/recording.h"
#include "simulate/options.h"
#include "simulate/run.h"

CW_PUBLIC_BEGIN

/* The name of the log's file, beside the outing file. */
#define CW_SIMULATE_LOG "log.csv"

/* Owns all it points to. */
struct cw_simulated {
    size_t n_recordings;             /* a companion's come last */
    struct cw_recording *recordings; /* as a reader would give them; line is 0 */
    struct cw_outing outing;         /* as its file would be read */
    size_t n_runs;
    struct cw_simulated_run *runs;
    struct cw_simulated_run *companion_runs; /* n_runs, one for each; NULL: nobody came along */
    struct cw_simulated_log log;             /* no rows: none */
    double density_kgm3, gravity_ms2;        /* of the air as the outing file says it */
    double barometric_scale;                 /* in it: true over indicated height, halfway down */
    double length_m, drop_m;                 /* of the road */
};

/* Makes the outing. CW_E_ARGUMENT with what is out of range; CW_E_DATA when a run cannot be ridden
 * (the start speed is 0 and the slope sets nothing rolling, or it takes over 15 minutes). Free
 * with cw_simulated_free, also after an error. */
enum cw_status cw_simulate(const struct cw_simulate_options *options,
                           struct cw_simulated *simulated, struct cw_error *error);
void cw_simulated_free(struct cw_simulated *simulated);

/* Adds the truth as JSON: the road, the air, the setups and every run. */
void cw_simulate_truth_add(struct cw_text *text, const struct cw_simulate_options *options,
                           const struct cw_simulated *simulated);

/* Writes the recordings, the log, outing.ini and truth.json into directory, which is made if it is
 * not there. Each file appears whole or not at all, and takes the place only of one that was made
 * up too: where there is no truth.json, none of the others may be there. CW_E_WRITE. */
enum cw_status cw_simulate_write(const struct cw_simulate_options *options,
                                 const struct cw_simulated *simulated, const char *directory,
                                 struct cw_error *error);

CW_PUBLIC_END

#endif
