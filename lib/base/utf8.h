/* UTF-8: whether text is valid, and how wide a terminal shows it. */
#ifndef CW_BASE_UTF8_H
#define CW_BASE_UTF8_H

#include <stdbool.h>
#include <stddef.h>

/* Whether bytes[0..length) is well-formed UTF-8 (RFC 3629: no overlong forms, no surrogates). */
bool cw_utf8_valid(const char *bytes, size_t length);

/* Columns of a terminal that the text takes: combining marks take none, East Asian wide and
 * fullwidth characters two, everything else (a malformed byte too) one. */
size_t cw_utf8_width(const char *text);

#endif
