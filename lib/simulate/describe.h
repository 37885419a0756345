/* What the outing file of a made-up outing says. */
#ifndef CW_SIMULATE_DESCRIBE_H
#define CW_SIMULATE_DESCRIBE_H

#include "base/error.h"
#include "simulate/simulate.h"

/* Fills outing and the recordings' names: the truth, as a careful rider would know it. Recordings
 * and runs are made. */
enum cw_status cw_simulate_describe(const struct cw_simulate_options *options,
                                    struct cw_simulated *simulated, struct cw_error *error);

#endif
