/* The page: one self-contained HTML file to keep and show. */
#ifndef CW_REPORT_PAGE_H
#define CW_REPORT_PAGE_H

#include "base/error.h"
#include "base/text.h"
#include "report/report.h"

/* Adds the whole page. Written from its arguments alone: the same inputs give the same bytes. */
enum cw_status cw_page_add(const struct cw_report *report, struct cw_text *text,
                           struct cw_error *error);

#endif
