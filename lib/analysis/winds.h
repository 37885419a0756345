/* What an air log and notes say of the wind in each run, and of the outing's. */
#ifndef CW_ANALYSIS_WINDS_H
#define CW_ANALYSIS_WINDS_H

#include "analysis/analysis.h"

/* Sets `logged` of the kept runs from the outing's log, and says how much of them it covers
 * (log_covers, log_shift_h). Roads must be numbered. */
enum cw_status cw_analysed_log(struct cw_analysed *of, struct cw_error *error);

/* Where the outing file does not say the mean wind and all runs are on one road, it is that of its
 * notes, or else of the log, or else none; of those that the fit (NULL: there is none yet) found to
 * tell the winds. *moved: whether that makes it another than it was. CW_E_MEMORY. */
enum cw_status cw_analysed_tell_wind(struct cw_analysed *of, const struct cw_fit *fit, bool *moved,
                                     struct cw_error *error);

#endif
