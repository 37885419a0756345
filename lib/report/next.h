/* What next: what would decide what these runs left open, or what to try on the road. Inside the
 * library only. */
#ifndef CW_REPORT_NEXT_H
#define CW_REPORT_NEXT_H

#include "analysis/analysis.h"
#include "report/sentences.h"

/* Adds sentences, each with the command to type where there is one. */
void cw_next_said(const struct cw_analysis *analysis, struct cw_sentences *sentences);

#endif
