/* A prediction and a plan as parts of a page that somebody else makes: the same sentences and cells
 * as the command's, in the units given. What they hold is markup without a script or a style but
 * for that of pictures (picture/picture.h); headings are <h3>. Inside the library only. */
#ifndef CW_PAGE_ELSEWHERE_H
#define CW_PAGE_ELSEWHERE_H

#include "base/error.h"
#include "base/text.h"
#include "plan/plan.h"
#include "predict/predict.h"
#include "report/look.h"

/* How each ride goes, the picture where rides were kept (cw_predict_options.trace), tables, what to
 * mind, and cautions. CW_E_MEMORY. */
enum cw_status cw_page_prediction_add(const struct cw_prediction *prediction, enum cw_units units,
                                      struct cw_text *text, struct cw_error *error);
/* Cautions, the answer, tables, advice. CW_E_MEMORY. */
enum cw_status cw_page_plan_add(const struct cw_plan *plan, enum cw_units units,
                                struct cw_text *text, struct cw_error *error);

#endif
