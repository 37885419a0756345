#include "base/text.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "base/print.h"

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

/* Formats into the room there is, and once more where that was too little. */
void cw_text_add(struct cw_text *text, const char *format, ...) {
    if (text->failed) return;
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    size_t room = text->capacity - text->length;
    int length = cw_print_v(room ? text->bytes + text->length : NULL, room, format, arguments);
    va_end(arguments);
    if (length < 0)
        text->failed = true;
    else if ((size_t)length >= room && reserve(text, (size_t)length))
        cw_print_v(text->bytes + text->length, (size_t)length + 1, format, again);
    va_end(again);
    if (!text->failed)
        text->length += (size_t)length;
    else if (text->bytes)
        text->bytes[text->length] = '\0';
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

/* Bytes that mean themselves to a shell wherever they stand; those of UTF-8 do too. */
static bool is_plain(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
           (unsigned char)c >= 0x80 || (c && strchr("_-./+:,@%=", c));
}

void cw_text_add_word(struct cw_text *text, const char *string) {
    size_t plain = 0;
    while (is_plain(string[plain])) plain++;
    if (plain && !string[plain]) {
        cw_text_add(text, "%s", string);
        return;
    }
    cw_text_add(text, "'");
    for (const char *c = string; *c; c++)
        if (*c == '\'')
            cw_text_add(text, "'\\''");
        else
            cw_text_add_bytes(text, c, 1);
    cw_text_add(text, "'");
}

void cw_text_add_number(struct cw_text *text, double value, int decimals) {
    char number[400]; /* the largest double has 309 digits */
    if (!isfinite(value)) {
        cw_text_add(text, "null");
        return;
    }
    int length = cw_print(number, sizeof number, "%.*f", decimals, value);
    if (decimals > 0) {
        while (number[length - 1] == '0') length--;
        if (number[length - 1] == '.') length--;
        number[length] = '\0';
    }
    if (!strcmp(number, "-0")) length = cw_print(number, sizeof number, "0");
    cw_text_add_bytes(text, number, (size_t)length);
}

void cw_text_free(struct cw_text *text) {
    free(text->bytes);
    *text = (struct cw_text){0};
}
