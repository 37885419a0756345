/* What a coast can tell, before anything is fitted. */
#ifndef CW_RUNS_WORTH_H
#define CW_RUNS_WORTH_H

#include <stddef.h>

#include "runs/options.h"
#include "runs/told.h"

/* How far in doubt a coast over samples [first, last] leaves what slows it down: the standard
 * deviation of CdA or of Crr in parts of itself, whichever is told better. By least squares of the
 * coast's head, with the errors that the balance gives it, its level free; the other of the two
 * known as an outing's other runs make it known: Crr to 0.001, CdA to a fifth. 80 m on the level
 * from 40 to 15 km/h may tell more than 400 m at one speed. */
double cw_worth_doubt(const struct cw_told *told, const struct cw_runs_options *options,
                      size_t first, size_t last);

#endif
