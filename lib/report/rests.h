/* What an answer rests on: the runs of an outing, their order, the air. Inside the room only. */
#ifndef CW_REPORT_RESTS_H
#define CW_REPORT_RESTS_H

#include "analysis/analysis.h"
#include "report/sentences.h"

/* Adds sentences: how many runs of which setups, and of those turned down; in which order; in which
 * air. */
void cw_rests_said(const struct cw_analysed *of, struct cw_sentences *sentences);

#endif
