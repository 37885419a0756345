/* What an outing file says that is probably not meant: a pressure of sea level, masses in pounds.
 */
#ifndef CW_REPORT_DOUBTS_H
#define CW_REPORT_DOUBTS_H

#include "analysis/analysis.h"
#include "report/sentences.h"

void cw_doubts_add(const struct cw_analysed *of, struct cw_sentences *warnings);

#endif
