/* Clock times as people at the road read them. Inside the library only. */
#ifndef CW_REPORT_CLOCK_H
#define CW_REPORT_CLOCK_H

#include <stdbool.h>

#include "analysis/analysis.h"
#include "report/table.h"

/* How far local time is ahead of UTC: as the outing file says, else as its first recording does,
 * else not at all; and how that is said. */
struct cw_clock {
    double offset_s;
    char name[16]; /* "UTC", "UTC+01:00" */
};
struct cw_clock cw_clock_of(const struct cw_analysed *of);

/* A time to the second as "2024-10-06 07:30:51"; "unknown" where it is not finite. */
enum { CW_CLOCK_TEXT = 40, CW_CLOCK_DAY = 10 };
void cw_clock_write(const struct cw_clock *clock, double unix_s, char text[CW_CLOCK_TEXT]);
/* As a cell; without the day where that is said elsewhere. */
void cw_table_add_clock(struct cw_table *table, const struct cw_clock *clock, double unix_s,
                        bool day);

#endif
