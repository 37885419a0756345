/* What is said wherever speeds are shown that somebody may ride. Constants, plain ASCII. */
#ifndef CW_REPORT_CAUTIONS_H
#define CW_REPORT_CAUTIONS_H

#include "base/text.h"

/* Where and how to coast; what holds on the level besides; who has the last word. */
extern const char cw_caution_coasting[], cw_caution_level[], cw_caution_law[];

/* Adds how fast and, in round figures, how far it is to a stand from there. speed_is: "The fastest
 * run here reached"; road: "road" or "slope". stopping_m may be infinite. */
void cw_caution_add_speed(struct cw_text *text, const char *speed_is, double speed_ms,
                          double stopping_m, const char *road);

#endif
