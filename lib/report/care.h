/* What is to be minded before anybody coasts a road: said once, for tables, pages and sheets. */
#ifndef CW_REPORT_CARE_H
#define CW_REPORT_CARE_H

#include "base/text.h"

/* Sentences; constants. */
extern const char cw_care_rules[], cw_care_level[], cw_care_law[];

/* Adds how fast and, in round figures, how far it is to a stand from there. speed_is: "The fastest
 * run here reached"; road: "road" or "slope". stopping_m may be infinite. */
void cw_care_add_speed(struct cw_text *text, const char *speed_is, double speed_ms,
                       double stopping_m, const char *road);

#endif
