/* The winds that runs had: how large, what they were known by, and what that was worth. */
#ifndef CW_COMPARE_WINDS_H
#define CW_COMPARE_WINDS_H

#include "compare/run_model.h"

/* Sets the table's runs' winds and compare->wind, whose comparisons are made. weight: what each run
 * counts in the first comparison's difference (cw_run_model_weights); NULL where there is none. */
enum cw_status cw_winds_tell(const struct cw_table_of_runs *table, const struct cw_fit *const *fits,
                             const struct cw_run_model *model, const double *weight,
                             struct cw_compare *compare, struct cw_error *error);

#endif
