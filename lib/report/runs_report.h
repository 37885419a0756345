/* What `coastwise runs` answers: the recordings, the runs found in them, and why stretches that
 * looked like runs were turned down. */
#ifndef CW_REPORT_RUNS_REPORT_H
#define CW_REPORT_RUNS_REPORT_H

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

/* Each adds the runs found in an outing, or in loose recordings, to out; CW_E_MEMORY when out is
 * not whole. Coasts that tell too little to be runs: of those that come near to it (cw_runs.at) the
 * table lists three a recording, where all is asked for each, and of the others (cw_runs.slight)
 * none or each; how many more there are it says. JSON has the others under "slight", CSV has none.
 */
enum cw_status cw_report_runs_table(const struct cw_analysed *of, bool all,
                                    const struct cw_look *look, struct cw_text *out,
                                    struct cw_error *error);
enum cw_status cw_report_runs_csv(const struct cw_analysed *of, struct cw_text *out,
                                  struct cw_error *error);
enum cw_status cw_report_runs_json(const struct cw_analysed *of, struct cw_text *out,
                                   struct cw_error *error);

CW_PUBLIC_END

#endif
