#include "report/markup.h"

#include <string.h>

#include "base/utf8.h"

/* Shortens each character of three bytes, the first two as given and the last within first..last,
 * to "?". */
static void mask(char *text, const char *two, unsigned first, unsigned last) {
    for (char *c = text; c && (c = strstr(c, two)); c++)
        if ((unsigned char)c[2] >= first && (unsigned char)c[2] <= last) {
            *c = '?';
            memmove(c + 1, c + 3, strlen(c + 3) + 1);
        }
}

void cw_markup_add(struct cw_text *text, const char *string) {
    struct cw_text shown = {0};
    cw_utf8_add_shown(&shown, string);
    mask(shown.bytes, "\xef\xbf", 0xbe, 0xbf); /* U+FFFE, U+FFFF */
    mask(shown.bytes, "\xe2\x80", 0xaa, 0xae); /* U+202A to U+202E */
    mask(shown.bytes, "\xe2\x81", 0xa6, 0xa9); /* U+2066 to U+2069 */
    if (shown.bytes) cw_text_add_escaped(text, shown.bytes);
    if (shown.failed) text->failed = true;
    cw_text_free(&shown);
}

void cw_markup_add_name(struct cw_text *text, const char *name) {
    cw_text_add(text, "<bdi>");
    cw_markup_add(text, name);
    cw_text_add(text, "</bdi>");
}
