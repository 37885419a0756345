/* What an order was probably meant to be, that has a label too many or too few. Inside the room
 * only.
 */
#ifndef CW_REPORT_MEANT_H
#define CW_REPORT_MEANT_H

#include "analysis/analysis.h"
#include "report/sentences.h"

/* Adds what is probably meant and what to write; nothing where the order's length is off by more
 * than one, or nothing is likelier than another. */
void cw_order_meant_said(const struct cw_analysed *of, struct cw_sentences *sentences);

#endif
