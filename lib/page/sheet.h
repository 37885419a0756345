/* The sheet to print and take along: a plan's runs, with room for what must be written down. */
#ifndef CW_PAGE_SHEET_H
#define CW_PAGE_SHEET_H

#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "plan/plan.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

/* Adds the whole page in the units given, which loads nothing and runs nothing. CW_E_MEMORY. */
enum cw_status cw_page_sheet_add(const struct cw_plan *plan, enum cw_units units,
                                 struct cw_text *text, struct cw_error *error);

CW_PUBLIC_END

#endif
