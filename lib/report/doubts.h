/* Where trust would be misplaced: an outing file that says what is probably not meant (a pressure
 * of sea level, masses in pounds), a recorder that smooths too much for the road, wind. */
#ifndef CW_REPORT_DOUBTS_H
#define CW_REPORT_DOUBTS_H

#include "analysis/analysis.h"
#include "report/sentences.h"

void cw_doubts_add(const struct cw_analysed *of, struct cw_sentences *warnings);

#endif
