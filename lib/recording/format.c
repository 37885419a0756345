#include "recording/format.h"

#include <string.h>

#include "base/print.h"

static const struct {
    const char *name, *word;
} formats[] = {
#define ROW(name, word) {#name, #word},
    CW_FORMAT_LIST(ROW)
#undef ROW
};

const char *cw_format_text(enum cw_format format) {
    return formats[format].name;
}

const char *cw_format_word(enum cw_format format) {
    return formats[format].word;
}

static const char *join(const char *(*text_of)(enum cw_format), const char *last,
                        char text[CW_FORMAT_TEXT]) {
    size_t length = 0;
    for (int i = 0; i < CW_FORMATS && length < CW_FORMAT_TEXT; i++) {
        const char *before = i == 0 ? "" : i + 1 == CW_FORMATS ? last : ", ";
        length += (size_t)cw_print(text + length, CW_FORMAT_TEXT - length, "%s%s", before,
                                   text_of((enum cw_format)i));
    }
    return text;
}

const char *cw_format_names(const char *last, char text[CW_FORMAT_TEXT]) {
    return join(cw_format_text, last, text);
}

const char *cw_format_words(const char *last, char text[CW_FORMAT_TEXT]) {
    return join(cw_format_word, last, text);
}

bool cw_format_find(const char *word, enum cw_format *format) {
    for (int i = 0; i < CW_FORMATS; i++) {
        if (strcmp(formats[i].word, word)) continue;
        *format = (enum cw_format)i;
        return true;
    }
    return false;
}
