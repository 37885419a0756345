/* Text put so that the reader's terminal can show it. Inside the library only. */
#ifndef CW_REPORT_PLAIN_H
#define CW_REPORT_PLAIN_H

#include <stddef.h>

#include "base/text.h"
#include "report/look.h"

/* What a plain terminal shows otherwise. */
struct cw_signs {
    const char *plus_minus, *m2, *kgm3, *ms2, *celsius, *times;
};
struct cw_signs cw_signs_of(const struct cw_look *look);

/* Adds string as a plain terminal shows it: the signs that our own words use are spelled in ASCII,
 * what else is not ASCII stays, control characters become "?". */
void cw_plain_add(struct cw_text *text, const char *string);

/* Adds text in lines no wider than the terminal (nor than 100 columns, which is enough to read),
 * those after the first indented, and a line end; as a terminal may be shown it, see cw_plain_add.
 */
void cw_wrapped_add(struct cw_text *out, const char *text, const struct cw_look *look,
                    size_t indent);
/* The same of what stands in text, if anything does, and frees it. */
void cw_wrapped_take(struct cw_text *out, struct cw_text *text, const struct cw_look *look,
                     size_t indent);

#endif
