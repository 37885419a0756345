#include "recording/tags.h"

#include <string.h>

/* What may follow "<!"; told by its first byte. */
static const char comment[] = "--", cdata[] = "[CDATA[", doctype[] = "DOCTYPE";

static void begin_special(struct cw_tags *tags, char c) {
    if (tags->matched == 0) tags->word = c == '-' ? comment : c == '[' ? cdata : doctype;
    if (c != tags->word[tags->matched]) {
        tags->fault = "\"<!\" begins nothing that XML has";
        return;
    }
    if (tags->word[++tags->matched]) return;
    tags->matched = 0;
    tags->quote = 0;
    tags->place = tags->word == comment ? CW_IN_COMMENT
                  : tags->word == cdata ? CW_IN_CDATA
                                        : CW_IN_DOCTYPE;
}

/* Whether c ends what ends with two of `twice` and '>'. */
static bool ends(struct cw_tags *tags, char c, char twice) {
    if (c == '>' && tags->matched == 2) {
        tags->place = CW_IN_TEXT;
        return true;
    }
    tags->matched = c != twice ? 0 : tags->matched < 2 ? tags->matched + 1 : 2;
    return false;
}

static void follow_quotes(struct cw_tags *tags, char c) {
    if (tags->quote) {
        if (c == tags->quote) tags->quote = 0;
    } else if (c == '"' || c == '\'') {
        tags->quote = c;
    }
}

/* Of what is taken out. */
static void follow_out(struct cw_tags *tags, char c) {
    if (tags->place == CW_IN_COMMENT) {
        ends(tags, c, '-');
    } else if (tags->place == CW_IN_INSTRUCTION) {
        if (c == '>' && tags->matched) tags->place = CW_IN_TEXT;
        tags->matched = c == '?';
    } else {
        follow_quotes(tags, c);
        if (!tags->quote && c == '[') tags->declares = true;
        if (!tags->quote && c == '>') tags->place = CW_IN_TEXT;
    }
}

/* At most two bytes to `to`; returns how many. */
static size_t take(struct cw_tags *tags, char c, char *to) {
    size_t written = 0;
    switch (tags->place) {
    case CW_IN_TEXT:
        if (c == '<')
            tags->place = CW_AT_TAG;
        else
            to[written++] = c;
        break;
    case CW_AT_TAG:
        tags->matched = tags->tag_length = 0;
        tags->quote = 0;
        tags->place = c == '!'   ? CW_AT_SPECIAL
                      : c == '?' ? CW_IN_INSTRUCTION
                      : c == '>' ? CW_IN_TEXT
                                 : CW_IN_TAG;
        if (c == '!' || c == '?') break;
        to[written++] = '<';
        to[written++] = c;
        break;
    case CW_IN_TAG:
        tags->tag_length++;
        follow_quotes(tags, c);
        if (!tags->quote && c == '>') tags->place = CW_IN_TEXT;
        to[written++] = c;
        break;
    case CW_AT_SPECIAL:
        begin_special(tags, c);
        break;
    case CW_IN_CDATA: /* no number or time has a bracket or any such thing */
        if (!ends(tags, c, ']') && c != ']') to[written++] = c == '<' || c == '&' ? '_' : c;
        break;
    case CW_IN_COMMENT:
    case CW_IN_DOCTYPE:
    case CW_IN_INSTRUCTION:
        follow_out(tags, c);
        if (c == '\n') to[written++] = c;
        break;
    }
    return written;
}

static bool ends_tag_or_quotes(char c) {
    static const bool at[256] = {['>'] = true, ['"'] = true, ['\''] = true};
    return at[(unsigned char)c];
}

/* How much of text goes as it stands: text and tags, up to a '<' that begins something else or
 * whose next byte is not there yet. */
static size_t pass(struct cw_tags *tags, const char *text, size_t length) {
    size_t n = 0;
    while (!tags->fault) {
        if (tags->place == CW_IN_TEXT) {
            const char *tag = memchr(text + n, '<', length - n);
            n = tag ? (size_t)(tag - text) : length;
            if (n + 1 >= length || text[n + 1] == '!' || text[n + 1] == '?') return n;
            tags->tag_length = 0;
            tags->quote = 0;
            tags->place = text[n + 1] == '>' ? CW_IN_TEXT : CW_IN_TAG;
            n += 2;
        } else if (tags->place == CW_IN_TAG) {
            size_t from = n;
            while (n < length && !ends_tag_or_quotes(text[n])) n++;
            tags->tag_length += n - from;
            if (tags->tag_length > CW_TAG_MAX) tags->fault = "a tag is too long";
            if (tags->fault || n == length) return n;
            tags->tag_length++;
            follow_quotes(tags, text[n]);
            if (!tags->quote && text[n] == '>') tags->place = CW_IN_TEXT;
            n++;
        } else {
            return n;
        }
    }
    return n;
}

/* In blocks that a compiler makes vectors of. */
static long lines_of(const char *text, size_t length) {
    enum { BLOCK = 64 };
    long lines = 0;
    size_t i = 0;
    for (; i + BLOCK <= length; i += BLOCK) {
        unsigned char n = 0;
        for (size_t k = 0; k < BLOCK; k++) n = (unsigned char)(n + (text[i + k] == '\n'));
        lines += n;
    }
    for (; i < length; i++) lines += text[i] == '\n';
    return lines;
}

size_t cw_tags_feed(struct cw_tags *tags, const char *text, size_t length, char *to) {
    size_t written = 0;
    for (size_t i = 0; i < length && !tags->fault && !tags->declares;) {
        size_t n = pass(tags, text + i, length - i);
        memcpy(to + written, text + i, n);
        written += n;
        i += n;
        if (i < length && !tags->fault) written += take(tags, text[i++], to + written);
    }
    tags->lines += lines_of(to, written);
    return written;
}
