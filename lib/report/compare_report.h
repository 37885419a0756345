/* What `coastwise compare` answers: which setup is faster, by how much and how sure that is; what
 * stands behind it; and what the runs cannot tell. */
#ifndef CW_REPORT_COMPARE_REPORT_H
#define CW_REPORT_COMPARE_REPORT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "report/interval.h"
#include "report/report.h"
#include "timed/timed.h"

/* All is borrowed. Some run has a setup: report->compare is not NULL. */
struct cw_compare_report {
    const struct cw_report *report;
    /* As measured, one for each outing; NULL, or one with n of 0, where it could not be made. */
    const struct cw_timed *timed;
};

/* Whether two setups or more were compared. */
bool cw_compare_answers(const struct cw_compare_report *report);

/* Each adds to out; CW_E_MEMORY when out is not whole. The CSV has a line for each comparison. */
enum cw_status cw_report_compare_table(const struct cw_compare_report *report,
                                       const struct cw_look *look, struct cw_text *out,
                                       struct cw_error *error);
enum cw_status cw_report_compare_csv(const struct cw_compare_report *report, struct cw_text *out,
                                     struct cw_error *error);
enum cw_status cw_report_compare_json(const struct cw_compare_report *report, struct cw_text *out,
                                      struct cw_error *error);

#endif
