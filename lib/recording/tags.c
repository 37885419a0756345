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

/* What goes in one piece: text up to the next tag, a tag up to the next quote or its
 * end. */
static size_t take_piece(struct cw_tags *tags, const char *text, size_t length, char *to) {
    size_t n = 0;
    if (tags->place == CW_IN_TAG) {
        while (n < length && text[n] != '>' && text[n] != '"' && text[n] != '\'') n++;
        tags->tag_length += n;
        if (tags->tag_length > CW_TAG_MAX) tags->fault = "a tag is too long";
    } else if (tags->place == CW_IN_TEXT) {
        const char *tag = memchr(text, '<', length);
        n = tag ? (size_t)(tag - text) : length;
    }
    memcpy(to, text, n);
    return n;
}

size_t cw_tags_feed(struct cw_tags *tags, const char *text, size_t length, char *to) {
    size_t written = 0;
    for (size_t i = 0; i < length && !tags->fault && !tags->declares;) {
        size_t n = take_piece(tags, text + i, length - i, to + written);
        written += n;
        i += n;
        if (i < length && !tags->fault) written += take(tags, text[i++], to + written);
    }
    for (size_t i = 0; i < written; i++) tags->lines += to[i] == '\n';
    return written;
}
