#include "base/text.h"

#include <locale.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool reserve(struct cw_text *text, size_t more) {
    if (text->failed) return false;
    size_t need = text->length + more + 1;
    if (need <= text->capacity) return true;
    size_t capacity = text->capacity ? text->capacity : 256;
    while (capacity < need) capacity *= 2;
    char *bytes = realloc(text->bytes, capacity);
    if (!bytes) {
        text->failed = true;
        return false;
    }
    text->bytes = bytes;
    text->capacity = capacity;
    return true;
}

void cw_text_add_bytes(struct cw_text *text, const char *bytes, size_t length) {
    if (!reserve(text, length)) return;
    memcpy(text->bytes + text->length, bytes, length);
    text->length += length;
    text->bytes[text->length] = '\0';
}

void cw_text_add(struct cw_text *text, const char *format, ...) {
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    int length = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    if (length < 0) {
        text->failed = true;
    } else if (reserve(text, (size_t)length)) {
        vsnprintf(text->bytes + text->length, (size_t)length + 1, format, again);
        text->length += (size_t)length;
    }
    va_end(again);
}

void cw_text_add_escaped(struct cw_text *text, const char *string) {
    for (const char *c = string; *c; c++) {
        switch (*c) {
        case '&':
            cw_text_add(text, "&amp;");
            break;
        case '<':
            cw_text_add(text, "&lt;");
            break;
        case '>':
            cw_text_add(text, "&gt;");
            break;
        case '"':
            cw_text_add(text, "&quot;");
            break;
        case '\'':
            cw_text_add(text, "&#39;");
            break;
        default:
            if ((unsigned char)*c >= 0x20 || *c == '\n' || *c == '\t')
                cw_text_add_bytes(text, c, 1);
        }
    }
}

void cw_text_add_number(struct cw_text *text, double value, int decimals) {
    char number[400]; /* the largest double has 309 digits */
    if (!isfinite(value)) {
        cw_text_add(text, "null");
        return;
    }
    snprintf(number, sizeof number, "%.*f", decimals, value);
    /* The library never sets a locale, but a program that links it may. */
    const char *local = localeconv()->decimal_point;
    char *point = local && local[0] ? strstr(number, local) : strchr(number, '.');
    if (point) {
        size_t width = local && local[0] ? strlen(local) : 1;
        *point = '.';
        memmove(point + 1, point + width, strlen(point + width) + 1);
        char *end = number + strlen(number);
        while (end > point && end[-1] == '0') *--end = '\0';
        if (end == point + 1) *point = '\0';
    }
    cw_text_add(text, "%s", strcmp(number, "-0") == 0 ? "0" : number);
}

void cw_text_free(struct cw_text *text) {
    free(text->bytes);
    *text = (struct cw_text){0};
}
