/* Coast-downs on the level as the vehicle standards judge them: by the time from one speed down to
 * the next. */
#ifndef CW_TIMED_STEPS_H
#define CW_TIMED_STEPS_H

#include "base/error.h"
#include "road/ridden.h"
#include "timed/timed.h"

/* Whether a run is such a coast-down: on a grade of no more than 0.5 % (SAE J1263, summary), from
 * its highest speed downwards. */
bool cw_is_coast_down(const struct cw_run *run);

/* When the run's speed falls through speed_ms, Unix time; NaN where it begins below it or does not
 * come down to it. Where it goes up and down about it, the middle of that. */
double cw_step_time(const struct cw_ridden *input, const struct cw_run *run, double speed_ms);

/* Sets timed's steps, of setups set before, where the kept runs of its road, both ways, are
 * coast-downs: at least half of them. Where it was ridden both ways each setup's runs are paired in
 * time order, and a pair of which one run lacks a step is left out of it. */
enum cw_status cw_timed_steps_make(const struct cw_ridden *input, struct cw_timed *timed,
                                   struct cw_error *error);

#endif
