/* What else was known on the hill beside the recordings: the wind of each run as somebody noted it,
 * a sensor's log, and what tape and stopwatch said. */
#ifndef CW_SIMULATE_KNOWN_H
#define CW_SIMULATE_KNOWN_H

#include "base/error.h"
#include "simulate/breeze.h"
#include "simulate/options.h"
#include "simulate/run.h"

/* Sets what was noted, taped and timed of each of options->n_order runs on a road of that length;
 * what was not, or can't be, is NaN. */
enum cw_status cw_known_fill(const struct cw_simulate_options *options,
                             const struct cw_breeze *breeze, double length_m,
                             struct cw_simulated_run *runs, struct cw_error *error);

/* Fills the log: its rows are from some minutes before the first run to as long after the last.
 * Free its columns, also after an error. */
enum cw_status cw_known_log(const struct cw_simulate_options *options,
                            const struct cw_breeze *breeze, const struct cw_simulated_run *runs,
                            struct cw_simulated_log *log, struct cw_error *error);

#endif
