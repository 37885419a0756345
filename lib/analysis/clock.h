/* The model's seconds held against the clock's. Inside the room only. */
#ifndef CW_ANALYSIS_CLOCK_H
#define CW_ANALYSIS_CLOCK_H

#include "compare/compare.h"
#include "timed/timed.h"

/* Sets comparison->time_by_clock_s, of measured, which is of the same two setups: between gates
 * that span `part` (0 to 1) of the road that time_over_road_s is of. */
void cw_clock_judge(const struct cw_timed_comparison *measured, double part,
                    struct cw_comparison *comparison);

#endif
