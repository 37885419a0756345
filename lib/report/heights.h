/* Where an outing's heights come from, as a sentence, a warning and JSON. */
#ifndef CW_REPORT_HEIGHTS_H
#define CW_REPORT_HEIGHTS_H

#include <jansson.h>

#include "analysis/analysis.h"
#include "base/text.h"
#include "report/sentences.h"

/* "heights from satellites: they drift by 2.9 m within a minute, as passes of ... show"; of a road
 * that the outing file calls level that no heights are looked at. */
void cw_heights_add(const struct cw_analysed *of, struct cw_text *text);

/* What was taken for granted where the outing file does not say; what is warned of where it says
 * another kind than the recordings clearly show. */
void cw_heights_default(const struct cw_analysed *of, struct cw_sentences *defaults);
void cw_heights_warning(const struct cw_analysed *of, struct cw_sentences *warnings);

/* {"kind", "reason", "apart_m", "drift_m"}; kind is null where it is neither told nor
 * said to be level. */
json_t *cw_heights_json(const struct cw_analysed *of, bool *failed);

#endif
