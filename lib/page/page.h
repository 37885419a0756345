/* The page: one self-contained HTML file to keep and show. */
#ifndef CW_PAGE_PAGE_H
#define CW_PAGE_PAGE_H

#include <stddef.h>

#include "analysis/analysis.h"
#include "analysis/inputs.h"
#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

/* How the page was made, so that it can be made again. All borrowed. */
struct cw_page_origin {
    const char *version; /* of the program */
    size_t n_arguments;  /* of the command line, the program's name among them */
    const char *const *arguments;
    size_t n_inputs;
    const struct cw_analysis_input *inputs;
};

/* Adds the whole page, in the units given. Written from its arguments alone: the same inputs give
 * the same bytes. CW_E_MEMORY, or what a picture says other than that there is nothing to draw. */
enum cw_status cw_page_add(const struct cw_analysis *analysis, enum cw_units units,
                           const struct cw_page_origin *origin, struct cw_text *text,
                           struct cw_error *error);

CW_PUBLIC_END

#endif
