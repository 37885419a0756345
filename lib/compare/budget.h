/* What the systematic causes of the outings' budgets (fit/budget.h) do to what is compared. */
#ifndef CW_COMPARE_BUDGET_H
#define CW_COMPARE_BUDGET_H

#include "compare/compare.h"
#include "compare/run_table.h"

/* Sets compare's causes, which are its own, and what they come to: the causes of all outings, each
 * by the outing that is the first to have it; weight: of the first comparison, NULL if there is
 * none. What one cause does to the difference has a sign within an outing; what is wrong in several
 * outings is taken to be so independently, but for how tyres answer to the temperature, which is
 * one for all. */
enum cw_status cw_compare_budget(const struct cw_fit *const *fits, size_t n,
                                 const struct cw_table_of_runs *table, const double *weight,
                                 struct cw_compare *compare, struct cw_error *error);

#endif
