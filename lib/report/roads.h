/* The roads that were coasted more than once, the most often first: a table for people, a list for
 * programs. */
#ifndef CW_REPORT_ROADS_H
#define CW_REPORT_ROADS_H

#include <jansson.h>
#include <stdbool.h>

#include "analysis/analysis.h"
#include "base/text.h"
#include "report/look.h"

/* A heading and the table; nothing where no road was, or where all runs of one day or outing are on
 * one. At most ten unless all. */
void cw_roads_add(const struct cw_analysed *of, bool all, const struct cw_look *look,
                  struct cw_text *out);

/* [{"road", "runs", "reversed", "days", "recordings", "distance_m", "drop_m", "first", "last",
 * "latitude_deg", "longitude_deg"}]: of every road with two runs or more; the distance and drop are
 * medians, the place is where its first run begins. */
json_t *cw_roads_json(const struct cw_analysed *of, bool *failed);

#endif
