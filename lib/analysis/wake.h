/* Riders who coast close behind each other. */
#ifndef CW_ANALYSIS_WAKE_H
#define CW_ANALYSIS_WAKE_H

#include "analysis/analysis.h"

/* Nearer than this behind another rider the air is not that of the road: within some ten metres
 * drag is less by a tenth and more, and traces reach further (common practice, no source). */
#define CW_WAKE_M 30

/* Turns down kept runs (CW_REASON_WAKE) that were ridden in the wake of a rider of the same outing:
 * nearer than CW_WAKE_M behind where a tenth or more of the drag's work was done. Who has no
 * positions is in no wake. */
enum cw_status cw_analysed_turn_down_wakes(struct cw_analysed *of, struct cw_error *error);

#endif
