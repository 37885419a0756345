/* A plan as text: tables, JSON, CSV, the sheet to take along, and the outing file to fill in. */
#ifndef CW_REPORT_PLAN_REPORT_H
#define CW_REPORT_PLAN_REPORT_H

#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "plan/plan.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

/* Each adds to out. CW_E_MEMORY; out is then not whole. CSV: a row a run. */
enum cw_status cw_report_plan_table(const struct cw_plan *plan, const struct cw_look *look,
                                    struct cw_text *out, struct cw_error *error);
enum cw_status cw_report_plan_json(const struct cw_plan *plan, struct cw_text *out,
                                   struct cw_error *error);
enum cw_status cw_report_plan_csv(const struct cw_plan *plan, struct cw_text *out,
                                  struct cw_error *error);

/* The list of runs with room for what must be written down, in the units given, as plain text 80
 * columns wide. */
enum cw_status cw_report_plan_sheet(const struct cw_plan *plan, enum cw_units units,
                                    struct cw_text *out, struct cw_error *error);

/* An outing file in which the setups and the order stand, and what only the rider will know is
 * asked for in comments: it is read once these are filled in, and until then the line that is
 * missing is named. */
enum cw_status cw_report_plan_outing(const struct cw_plan *plan, struct cw_text *out,
                                     struct cw_error *error);

CW_PUBLIC_END

#endif
