/* Times as measured, with no model: run by run, by setup, and setups against each other. A part of
 * what `coastwise compare` answers. */
#ifndef CW_REPORT_TIMED_REPORT_H
#define CW_REPORT_TIMED_REPORT_H

#include "base/error.h"
#include "base/text.h"
#include "outing/outing.h"
#include "report/interval.h"
#include "runs/runs.h"
#include "timed/timed.h"

/* An outing and its timed runs; all is borrowed. */
struct cw_timed_report {
    const struct cw_outing *outing;
    const struct cw_runs *runs;
    const struct cw_timed *timed;
};

/* Adds to out; CW_E_MEMORY when out is not whole. */
enum cw_status cw_report_timed_table(const struct cw_timed_report *report,
                                     const struct cw_look *look, struct cw_text *out,
                                     struct cw_error *error);

#endif
