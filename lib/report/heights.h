/* Where an outing's heights come from, as a sentence, a warning and JSON. */
#ifndef CW_REPORT_HEIGHTS_H
#define CW_REPORT_HEIGHTS_H

#include <jansson.h>

#include "analysis/analysis.h"
#include "base/text.h"
#include "report/sentences.h"

/* What the recorder can and can't tell: "heights from satellites (passes of the same place drift
 * apart by 2.9 m within a minute): a difference between setups is as sure as with a pressure
 * sensor, CdA itself isn't known from these heights: 0.27 to 0.45 m², ..."; how well CdA itself is
 * known is as compare has it, or where that is NULL as such heights do. */
void cw_heights_say(const struct cw_analysed *of, const struct cw_compare *compare,
                    struct cw_text *text);
/* Whether a run tells its CdA from nothing at all. */
bool cw_coast_tells(const struct cw_fit_run *run);

/* Whether the runs tell the setup's CdA itself, more than what riders on bicycles have does. */
bool cw_level_is_told(const struct cw_setup_result *setup);

/* Of every outing of an analysis, each by its name where there are several. */
void cw_heights_said(const struct cw_analysis *analysis, struct cw_sentences *sentences);

/* What was taken for granted where the outing file does not say; what is warned of where it says
 * another kind than the recordings clearly show. */
void cw_heights_default(const struct cw_analysed *of, struct cw_sentences *defaults);
void cw_heights_warning(const struct cw_analysed *of, struct cw_sentences *warnings);

/* {"kind", "reason", "apart_m", "drift_m", "said"}, said being what cw_heights_say adds; kind is
 * null where it is neither told nor said to be level. */
json_t *cw_heights_json(const struct cw_analysed *of, const struct cw_compare *compare,
                        bool *failed);

#endif
