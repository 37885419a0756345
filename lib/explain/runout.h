/* How long the last metres of a run-out are. Inside the room only.
 *
 * How much further a little more speed rolls is one over the slope (and what tyres and air take) at
 * the very place where the runs stand still, and a profile tells the slope of a dozen metres badly:
 * a thousandth off is a tenth of the metres on a road that is nearly level. So the metres beyond a
 * place end_m short of all standstills are held against the runs' own: from the speed that each was
 * seen to have there the model has it roll d_i further, and it rolled m_i; m = stretch d by least
 * squares, and what is left of the m_i says how well the stretch is known.
 *
 * Whether the slope changes within these metres as the profile has it, or that is the profile's
 * error and the slope is even, the runs do not tell. Half of both is taken, and half the difference
 * that it makes to a part is its standard error. */
#ifndef CW_EXPLAIN_RUNOUT_H
#define CW_EXPLAIN_RUNOUT_H

#include <stddef.h>

#include "base/error.h"
#include "explain/coast.h"
#include "explain/left.h"
#include "timed/timed.h"

/* A place as far short of the nearest standstill as the runs' lie apart, and 25 m at least; NaN
 * where it would not lie beyond the first gate by CW_GATES_LEAST_M. */
double cw_runout_end_m(const struct cw_timed *timed);

/* Sets the road's even slope, of the profile from end_m to the furthest standstill; NaN where
 * nothing stands still. */
void cw_runout_set_even(const struct cw_timed *timed, struct cw_explained_road *road);

struct cw_runout_stretch {
    double value, standard_error, df; /* 1, 0 and NaN where fewer than two runs tell it */
};

/* Of n runs of a pair; at_end: timed from the first gate to end_m. */
enum cw_status cw_runout_stretch_make(const struct cw_explained_road *road,
                                      const struct cw_timed *timed, const struct cw_timed *at_end,
                                      const struct cw_explained_run *runs, size_t n,
                                      struct cw_runout_stretch *stretch, struct cw_error *error);

#endif
