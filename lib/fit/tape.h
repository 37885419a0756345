/* Where wheels stood still, as taped, as observations of the runs' places.
 *
 * A tape knows a place to a decimetre where a receiver wanders by a metre or two, but from a mark
 * that nobody knows. So what it tells is how runs differ: the mark is taken to lie where the runs'
 * own places have it on the mean, which leaves what all share to the recorder. */
#ifndef CW_FIT_TAPE_H
#define CW_FIT_TAPE_H

#include <stdbool.h>
#include <stddef.h>

#include "fit/prepare.h"
#include "road/ridden.h"

/* Below this a bicycle stands still: a wheel's last turns, or the smoother's ripple. */
#define CW_STANDING_MS 0.3

/* The first sample, from the run's end on, at which the rider stands still; false where the run
 * ends otherwise, goes on for over a minute and a half, or a hole in the recording lies between. */
bool cw_standstill(const struct cw_ridden *input, const struct cw_run *run, size_t *at);

/* Sets what was taped of a run, of which `last` is the sample of its last grid point, as if the
 * mark were the road's start: cw_tape_tie then puts it where it is. Nothing where the run has no
 * tape or did not roll out. */
void cw_tape_take(const struct cw_ridden *input, size_t last, struct cw_run_data *data);

/* Puts the marks where they are, one for the runs that rode the same road the same way. Tapes of
 * fewer than three, and those that are farther off than recorders are, are taken away. */
enum cw_status cw_tape_tie(struct cw_prepared *prepared, struct cw_error *error);

#endif
