#include "recording/ascii.h"

#include <string.h>

/* By byte order mark, or by the zero beside an ASCII character. */
static void find_encoding(struct cw_ascii *ascii, const unsigned char *bytes, size_t length) {
    ascii->from = CW_ENCODING_BYTES;
    if (length < 2) return;
    if ((bytes[0] == 0xff && bytes[1] == 0xfe) || (bytes[0] && bytes[0] < 0x80 && bytes[1] == 0))
        ascii->from = CW_ENCODING_UTF16LE;
    else if ((bytes[0] == 0xfe && bytes[1] == 0xff) ||
             (bytes[0] == 0 && bytes[1] && bytes[1] < 0x80))
        ascii->from = CW_ENCODING_UTF16BE;
}

static bool is_mark(unsigned c) { /* U+FEFF, whole or as the bytes of UTF-8 */
    return c == 0xfeff || c == 0xef || c == 0xbb || c == 0xbf;
}

/* Whether character c, before the first tag, is left out. */
static bool skipped(struct cw_ascii *ascii, unsigned c) {
    if (is_mark(c)) return true;
    if (c == '<')
        ascii->begun = true;
    else if (c != ' ' && c != '\t' && c != '\r' && c != '\n')
        ascii->not_xml = true;
    return false;
}

static char ascii_of(unsigned c) {
    bool plain = (c >= ' ' && c < 0x7f) || c == '\t' || c == '\n' || c == '\r';
    return plain ? (char)c : '_';
}

/* Whether a block has nothing to be changed: told without a branch, so that a compiler makes
 * vectors of it. */
enum { BLOCK = 32 };
static bool all_plain(const unsigned char *bytes) {
    unsigned char other = 0;
    for (size_t k = 0; k < BLOCK; k++) {
        unsigned char c = bytes[k];
        other |= (unsigned char)(((unsigned char)(c - ' ') > '~' - ' ') & (c != '\n') &
                                 (c != '\r') & (c != '\t'));
    }
    return !other;
}

size_t cw_ascii_feed(struct cw_ascii *ascii, char *bytes, size_t length) {
    const unsigned char *from = (const unsigned char *)bytes;
    if (ascii->from == CW_ENCODING_UNKNOWN) find_encoding(ascii, from, length);
    size_t written = 0, i = 0;
    for (; i < length && !ascii->not_xml; i++) {
        if (ascii->begun && ascii->from == CW_ENCODING_BYTES) break;
        unsigned c = from[i];
        if (ascii->from != CW_ENCODING_BYTES) {
            ascii->half = !ascii->half;
            if (ascii->half) {
                ascii->held = from[i];
                continue;
            }
            c = ascii->from == CW_ENCODING_UTF16LE ? c << 8 | ascii->held
                                                   : (unsigned)ascii->held << 8 | c;
        }
        if (!ascii->begun && skipped(ascii, c)) continue;
        bytes[written++] = ascii_of(c);
    }
    if (ascii->not_xml) return written;
    if (written != i) memmove(bytes + written, bytes + i, length - i);
    size_t end = written + length - i;
    while (written < end) {
        if (end - written >= BLOCK && all_plain(from + written)) {
            written += BLOCK;
            continue;
        }
        size_t stop = end - written < BLOCK ? end : written + BLOCK;
        for (; written < stop; written++) bytes[written] = ascii_of(from[written]);
    }
    return written;
}
