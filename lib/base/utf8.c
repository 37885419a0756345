#include "base/utf8.h"

#include <string.h>

size_t cw_utf8_next(const char *bytes, size_t left, unsigned *character) {
    static const unsigned lowest[] = {0, 0, 0x80, 0x800, 0x10000};
    if (!left) return 0;
    unsigned first = (unsigned char)bytes[0];
    size_t length = first < 0x80             ? 1
                    : (first & 0xe0) == 0xc0 ? 2
                    : (first & 0xf0) == 0xe0 ? 3
                    : (first & 0xf8) == 0xf0 ? 4
                                             : 0;
    if (!length || length > left) return 0;
    unsigned value = length == 1 ? first : first & (0x7fU >> length);
    for (size_t i = 1; i < length; i++) {
        unsigned byte = (unsigned char)bytes[i];
        if ((byte & 0xc0) != 0x80) return 0;
        value = value << 6 | (byte & 0x3f);
    }
    if (value < lowest[length] || value > 0x10ffff || (value >= 0xd800 && value <= 0xdfff))
        return 0;
    *character = value;
    return length;
}

bool cw_utf8_valid(const char *bytes, size_t length) {
    unsigned character;
    for (size_t at = 0; at < length;) {
        size_t step = cw_utf8_next(bytes + at, length - at, &character);
        if (!step) return false;
        at += step;
    }
    return true;
}

struct range {
    unsigned first, last;
};

static bool within(const struct range *ranges, size_t n, unsigned character) {
    for (size_t i = 0; i < n; i++)
        if (character >= ranges[i].first && character <= ranges[i].last) return true;
    return false;
}

/* The blocks of combining marks and of wide characters that names are likely to hold (Unicode
 * Standard Annex 11, East Asian Width); rarer scripts are shown as one column a character. */
static size_t width(unsigned character) {
    static const struct range none[] = {{0x0300, 0x036f}, {0x1ab0, 0x1aff}, {0x1dc0, 0x1dff},
                                        {0x200b, 0x200f}, {0x20d0, 0x20ff}, {0xfe00, 0xfe0f},
                                        {0xfe20, 0xfe2f}, {0xfeff, 0xfeff}};
    static const struct range wide[] = {{0x1100, 0x115f},   {0x2e80, 0x303e},   {0x3041, 0xa4cf},
                                        {0xac00, 0xd7a3},   {0xf900, 0xfaff},   {0xfe30, 0xfe6f},
                                        {0xff00, 0xff60},   {0xffe0, 0xffe6},   {0x1f300, 0x1f64f},
                                        {0x1f680, 0x1f6ff}, {0x1f900, 0x1f9ff}, {0x20000, 0x3fffd}};
    if (within(none, sizeof none / sizeof *none, character)) return 0;
    return within(wide, sizeof wide / sizeof *wide, character) ? 2 : 1;
}

size_t cw_utf8_width(const char *text) {
    size_t columns = 0;
    for (size_t left = strlen(text); left;) {
        unsigned character = 0xfffd;
        size_t step = cw_utf8_next(text, left, &character);
        columns += width(character);
        text += step ? step : 1;
        left -= step ? step : 1;
    }
    return columns;
}

bool cw_utf8_is_control(unsigned character) {
    static const struct range controls[] = {{0, 0x1f},        {0x7f, 0x9f},     {0x61c, 0x61c},
                                            {0x200e, 0x200f}, {0x2028, 0x202e}, {0x2066, 0x2069},
                                            {0xfffe, 0xffff}};
    return within(controls, sizeof controls / sizeof *controls, character);
}

static void add(struct cw_text *text, const char *string, bool control, const char *instead) {
    for (size_t left = strlen(string); left;) {
        unsigned character = 0;
        size_t step = cw_utf8_next(string, left, &character);
        if (!step || (!control && cw_utf8_is_control(character)))
            cw_text_add(text, "%s", instead);
        else
            cw_text_add_bytes(text, string, step);
        string += step ? step : 1;
        left -= step ? step : 1;
    }
}

void cw_utf8_add_repaired(struct cw_text *text, const char *string) {
    add(text, string, true, "\xef\xbf\xbd");
}

void cw_utf8_add_shown(struct cw_text *text, const char *string) {
    add(text, string, false, "?");
}

void cw_utf8_show(char *string) {
    char *to = string;
    for (size_t left = strlen(string); left;) {
        unsigned character = 0;
        size_t step = cw_utf8_next(string, left, &character);
        bool shown = step && !cw_utf8_is_control(character);
        if (!shown)
            *to++ = '?';
        else
            memmove(to, string, step), to += step;
        string += step ? step : 1;
        left -= step ? step : 1;
    }
    *to = '\0';
}

void cw_utf8_add_json(struct cw_text *text, const char *json, size_t length) {
    size_t step, plain = 0; /* bytes at hand that go as they are */
    for (size_t at = 0; at < length; at += step) {
        unsigned character = 0;
        step = cw_utf8_next(json + at, length - at, &character);
        bool escaped = step > 1 && cw_utf8_is_control(character);
        if (!step) step = 1;
        plain += escaped ? 0 : step;
        if (!escaped && at + step < length) continue;
        cw_text_add_bytes(text, json + at + (escaped ? 0 : step) - plain, plain);
        if (escaped) cw_text_add(text, "\\u%04x", character);
        plain = 0;
    }
}

bool cw_utf8_has_control(const char *text, size_t length) {
    for (size_t i = 0; i < length; i++)
        if (((unsigned char)text[i] < 0x20 && text[i] != '\t') || text[i] == 0x7f) return true;
    return false;
}
