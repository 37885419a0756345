#include "report/markup.h"

#include "base/utf8.h"

void cw_markup_add(struct cw_text *text, const char *string) {
    struct cw_text shown = {0};
    cw_utf8_add_shown(&shown, string);
    if (shown.bytes) cw_text_add_escaped(text, shown.bytes);
    if (shown.failed) text->failed = true;
    cw_text_free(&shown);
}

void cw_markup_add_name(struct cw_text *text, const char *name) {
    cw_text_add(text, "<bdi>");
    cw_markup_add(text, name);
    cw_text_add(text, "</bdi>");
}
