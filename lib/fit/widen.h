/* What intervals hold beyond the noise within the runs (fit/README.md). */
#ifndef CW_FIT_WIDEN_H
#define CW_FIT_WIDEN_H

#include "base/error.h"
#include "fit/fit.h"

/* Of a fit whose estimates have their noise and whose budget is made: adds systematic causes and
 * the wind that each run has of its own, for an interval is what people read. Finds how runs of one
 * drag differ, on the way, and tells what the outing's runs say together of wind, bends and Crr at
 * 20 C. CW_E_MEMORY, CW_E_NUMERIC. */
enum cw_status cw_fit_widen(struct cw_fit *fit, struct cw_error *error);

#endif
