/* What the winds of runs did, what was known of them and by what, in words and as a table. Inside
 * the room and on the page only. */
#ifndef CW_REPORT_WINDS_H
#define CW_REPORT_WINDS_H

#include "analysis/analysis.h"
#include "report/clock.h"
#include "report/sentences.h"
#include "report/table.h"

/* "wind along the road -0.4 to 0.6 m/s, known from run to run to ± 0.09 m/s by the notes and
 * friend.gpx (8 runs of a companion): jacket against cape is sure to ± 4.6 % by that, where without
 * it would be to ± 15 %". Nothing where nothing was known, or nothing is compared. */
void cw_winds_said(const struct cw_analysis *analysis, struct cw_sentences *sentences);

/* What notes and logs saw of the wind, where that is not what they stated. */
void cw_winds_seen_said(const struct cw_analysis *analysis, struct cw_sentences *sentences);

/* What was seen and is not used; winds that are not known well enough, and what would have helped.
 */
void cw_winds_doubts(const struct cw_analysis *analysis, struct cw_sentences *warnings);
/* The latter of them. */
void cw_winds_doubt_unknown(const struct cw_compare *compare, struct cw_sentences *warnings);

/* Of an outing: columns of its air log that are left alone, clocks that are taken to agree; runs
 * that the log does not cover. */
void cw_winds_defaults(const struct cw_analysed *of, struct cw_sentences *defaults);
void cw_winds_log_warning(const struct cw_analysed *of, struct cw_sentences *warnings);

/* The winds of an outing's runs where anybody else saw them: run, setup, start, wind as found and
 * how well it is known beside the others, as noted, as logged. The table's columns are these. */
#define CW_WIND_COLUMNS_MOST 7
void cw_winds_rows(const struct cw_analysis *analysis, size_t outing, const char *plus_minus,
                   const struct cw_clock *clock, struct cw_column columns[CW_WIND_COLUMNS_MOST],
                   struct cw_table *table);

#endif
