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

/* Reads the character that bytes[0..left) begins with; returns its bytes, or 0 where they are not
 * well-formed or there are none. */
size_t cw_utf8_next(const char *bytes, size_t left, unsigned *character);

/* Whether a character does something else than show itself: a control (C0, C1, DEL), a mark that
 * turns the direction of text or ends a line (UAX 9, table 4; U+2028, U+2029), a noncharacter. */
bool cw_utf8_is_control(unsigned character);

/* Adds string as it may safely be shown: what is not UTF-8, and controls, become "?". */
void cw_utf8_add_shown(struct cw_text *text, const char *string);

/* Makes string that, in place: it grows no longer. */
void cw_utf8_show(char *string);

/* Adds JSON text, or a piece of a string in it, with controls of more than a byte written as
 * escapes: outside strings JSON has none. */
void cw_utf8_add_json(struct cw_text *text, const char *json, size_t length);

/* Whether text holds a control character other than a tab. */
bool cw_utf8_has_control(const char *text, size_t length);

#endif
