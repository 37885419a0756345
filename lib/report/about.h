/* What was done in an outing, in a line: for who opens it years later. Inside the library only. */
#ifndef CW_REPORT_ABOUT_H
#define CW_REPORT_ABOUT_H

#include "analysis/analysis.h"
#include "base/text.h"
#include "report/answer.h"

/* Adds "3 outings from 2024-10-06 to 2024-11-02, 24 runs (cape 12, jacket 12)". All must be fitted.
 */
void cw_about_all_add(const struct cw_analysis *analysis, cw_name_adder name, struct cw_text *text);

/* Adds "8 runs (cape 4, jacket 4) on 2024-10-06, each 989 m of road that falls 51 m (5.1 %). Air
 * 6.0 °C, 978 hPa; wind along the road 0.0 ± 0.2 m/s, as the outing file says". name adds the
 * setups' names. The outing must be fitted. */
void cw_about_add(const struct cw_analysed *of, cw_name_adder name, struct cw_text *text);

#endif
