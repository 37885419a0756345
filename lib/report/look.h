/* How the reader's terminal shows text, and text put so that it can. */
#ifndef CW_REPORT_LOOK_H
#define CW_REPORT_LOOK_H

#include <stdbool.h>
#include <stddef.h>

#include "base/public.h"
#include "base/text.h"

CW_PUBLIC_BEGIN

/* Whoever knows the terminal says so. */
struct cw_look {
    size_t columns; /* its width */
    bool utf8;      /* it shows UTF-8; else plain ASCII is kept to */
};

CW_PUBLIC_END

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

#endif
