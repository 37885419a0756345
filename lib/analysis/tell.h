/* What an analysis tells its caller on the way. Inside the room only. */
#ifndef CW_ANALYSIS_TELL_H
#define CW_ANALYSIS_TELL_H

#include "analysis/analysis.h"

void cw_tell_progress(const struct cw_analysis *analysis, const char *doing, size_t i, size_t n,
                      const char *file);
void cw_tell(const struct cw_analysis *analysis, const struct cw_notice *notice);

/* One of `of` loose recordings, or outings, cannot be used: goes into left_out and, where there are
 * others, is noticed. */
void cw_leave_out(struct cw_analysis *analysis, size_t of, const struct cw_error *fault);
/* Every one was left out: the error to end with, which is the fault itself of one alone. what:
 * "recordings" or "outings". */
enum cw_status cw_nothing_left(const struct cw_analysis *analysis, size_t of, const char *what,
                               const struct cw_error *fault, struct cw_error *error);

/* CW_E_FORMAT where an outing's recordings of one rider share time. */
enum cw_status cw_check_overlap(const struct cw_analysed *of, struct cw_error *error);

#endif
