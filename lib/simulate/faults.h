/* What goes wrong with a recorder at some moment: holes in which it records nothing, and jumps of
 * the heights. */
#ifndef CW_SIMULATE_FAULTS_H
#define CW_SIMULATE_FAULTS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "simulate/options.h"
#include "simulate/ride.h"
#include "simulate/run.h"

struct cw_jump {
    size_t recording;
    double time_s, by_m; /* on the ride's clock */
};

struct cw_faults {
    size_t n_jumps, capacity;
    struct cw_jump *jumps; /* in the order of time */
};

/* Draws them and sets what of them falls into each run. Free with cw_faults_free, also after an
 * error. */
enum cw_status cw_faults_make(const struct cw_simulate_options *options, const struct cw_ride *ride,
                              struct cw_simulated_run *runs, struct cw_faults *faults,
                              struct cw_error *error);
void cw_faults_free(struct cw_faults *faults);

/* Whether a moment (Unix time) lies in a hole of any run. */
bool cw_faults_hole(const struct cw_simulated_run *runs, size_t n, double time_s);

#endif
