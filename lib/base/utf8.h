/* UTF-8: whether text is valid, and how wide a terminal shows it. */
#ifndef CW_BASE_UTF8_H
#define CW_BASE_UTF8_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

/* Whether bytes[0..length) is well-formed UTF-8 (RFC 3629: no overlong forms, no surrogates). */
bool cw_utf8_valid(const char *bytes, size_t length);

/* Columns of a terminal that the text takes: combining marks take none, East Asian wide and
 * fullwidth characters two, everything else (a malformed byte too) one. */
size_t cw_utf8_width(const char *text);

/* Adds string with every byte that is not part of well-formed UTF-8 replaced by U+FFFD. */
void cw_utf8_add_repaired(struct cw_text *text, const char *string);

/* Adds string as it may safely be shown on a terminal: what is not UTF-8, and control characters
 * (C0, C1, DEL), become "?". */
void cw_utf8_add_shown(struct cw_text *text, const char *string);

/* Whether text holds a control character other than a tab. */
bool cw_utf8_has_control(const char *text, size_t length);

#endif
