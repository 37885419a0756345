/* Text put into HTML and SVG. Whatever comes from an input (names, files, messages that quote
 * them) goes through here and nowhere else, so that it can only ever be text. */
#ifndef CW_REPORT_MARKUP_H
#define CW_REPORT_MARKUP_H

#include "base/text.h"

/* Adds string as text or as a quoted attribute's value: & < > " ' as entities; what is not UTF-8,
 * control characters, overrides of the direction of writing (U+202A to U+202E, U+2066 to U+2069)
 * and the noncharacters that XML forbids (U+FFFE, U+FFFF) as "?". */
void cw_markup_add(struct cw_text *text, const char *string);

/* The same in <bdi>, for HTML: a name in another direction of writing leaves the words around it as
 * they are. */
void cw_markup_add_name(struct cw_text *text, const char *name);

#endif
