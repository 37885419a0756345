#include "report/plain.h"

#include <stdbool.h>
#include <string.h>

#include "base/utf8.h"
#include "report/units.h"

struct cw_signs cw_signs_of(const struct cw_look *look) {
    static const struct cw_signs plain = {"+-", "m2", "kg/m3", "m/s2", "C", "x"};
    static const struct cw_signs utf8 = {"±", "m²", "kg/m³", "m/s²", "°C", "×"};
    return look->utf8 ? utf8 : plain;
}

void cw_plain_add(struct cw_text *text, const char *string) {
    static const char *const spelled[][2] = {{"°", ""}, {"²", "2"}, {"³", "3"}, {"±", "+-"}};
    struct cw_text plain = {0};
    for (const char *c = string; *c;) {
        size_t i = 0, n = sizeof spelled / sizeof *spelled;
        while (i < n && strncmp(c, spelled[i][0], strlen(spelled[i][0]))) i++;
        if (i < n)
            cw_text_add(&plain, "%s", spelled[i][1]);
        else
            cw_text_add_bytes(&plain, c, 1);
        c += i < n ? strlen(spelled[i][0]) : 1;
    }
    if (plain.bytes) cw_utf8_add_shown(text, plain.bytes);
    if (plain.failed) text->failed = true;
    cw_text_free(&plain);
}

enum { LINE_MOST = 100 };

static bool is_plus_minus(const char *word, size_t length) {
    return length == 2 && (!strncmp(word, "+-", 2) || !strncmp(word, "±", 2));
}

/* The bytes up to the next blank that a line may end at: a unit stays with its number, and both
 * sides of a "±". */
static size_t unbroken(const char *text) {
    size_t length = strcspn(text, " "), from = 0;
    while (text[length]) {
        const char *next = text + length + 1;
        size_t after = strcspn(next, " ");
        bool number = length > from && strchr("0123456789", text[length - 1]);
        if (!(number && cw_is_unit(next, after)) && !is_plus_minus(text + from, length - from) &&
            !(number && is_plus_minus(next, after)))
            break;
        from = length + 1;
        length = from + after;
    }
    return length;
}

void cw_wrapped_add(struct cw_text *out, const char *text, const struct cw_look *look,
                    size_t indent) {
    size_t most = look->columns < LINE_MOST ? look->columns : LINE_MOST, taken = indent;
    struct cw_text said = {0}, shown = {0};
    cw_units_say(&said, text, look->units);
    if (look->utf8)
        cw_utf8_add_shown(&shown, said.bytes ? said.bytes : "");
    else
        cw_plain_add(&shown, said.bytes ? said.bytes : "");
    if (said.failed) out->failed = true;
    cw_text_free(&said);
    for (char *word = shown.bytes; word && *word;) {
        size_t length = unbroken(word);
        bool last = !word[length];
        word[length] = '\0';
        size_t width = cw_utf8_width(word);
        if (word == shown.bytes) {
            taken += width;
        } else if (taken + 1 + width > most) {
            cw_text_add(out, "\n%*s", (int)indent, "");
            taken = indent + width;
        } else {
            cw_text_add(out, " ");
            taken += 1 + width;
        }
        cw_text_add(out, "%s", word);
        word += length + !last;
    }
    cw_text_add(out, "\n");
    if (shown.failed) out->failed = true;
    cw_text_free(&shown);
}

void cw_wrapped_take(struct cw_text *out, struct cw_text *text, const struct cw_look *look,
                     size_t indent) {
    if (text->failed)
        out->failed = true;
    else if (text->bytes)
        cw_wrapped_add(out, text->bytes, look, indent);
    cw_text_free(text);
}
