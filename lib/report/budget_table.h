/* The error budget as tables and picture show it alike. Inside the library only. */
#ifndef CW_REPORT_BUDGET_TABLE_H
#define CW_REPORT_BUDGET_TABLE_H

#include "base/text.h"
#include "compare/compare.h"
#include "report/plain.h"
#include "report/table.h"

#define CW_BUDGET_DECIMALS 2 /* of a percentage */
#define CW_BUDGET_OFF "%.2g" /* a cause's uncertainty */
#define CW_BUDGET_ALL "all of them"
#define CW_BUDGET_NOISE "noise: gusts, recorder, scatter"
const char *cw_budget_unit(const struct cw_cause_effect *cause, const struct cw_signs *sign);

/* The budget's rows: cause and unit, its uncertainty, what it does to CdA, to Crr and, where there
 * are two setups, to their difference; the last row is all causes together. */
void cw_budget_rows(const struct cw_compare *compare, const struct cw_signs *sign,
                    struct cw_table *table);
/* What each systematic cause does; nothing if there is none. */
void cw_budget_table(const struct cw_compare *compare, const struct cw_look *look,
                     struct cw_text *out);

#endif
