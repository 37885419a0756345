/* The answer where setups differ in load: seconds and metres as ridden, and what of them the load
 * makes and what drag. */
#ifndef CW_REPORT_AS_RIDDEN_H
#define CW_REPORT_AS_RIDDEN_H

#include "compare/compare.h"
#include "report/answer.h"

/* "water: 2.5 s quicker over this road, as measured, than bare (1.4 to 3.6 s), all of it from 8 kg
 * more; drag the same within 4 %; it rolled 13 m further (5 to 21 m), 12 m of it from 8 kg more".
 * Of any pair whose times are divided; without a full stop. */
void cw_as_ridden_add(const struct cw_compare *compare, const struct cw_comparison *comparison,
                      cw_name_adder name, enum cw_units units, struct cw_text *text);

/* Which way the measured time goes: lower, higher, or undecided. */
enum cw_verdict cw_as_ridden_verdict(const struct cw_comparison *comparison);

#endif
