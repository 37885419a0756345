/* Sentences in the units that are read, each unit on its number's line. */
#include <stdbool.h>
#include <string.h>

#include "page/parts.h"
#include "report/units.h"

static bool begins(const char *at, const char *what) {
    return !strncmp(at, what, strlen(what));
}

/* Behind a tag; and behind an element whose text is none of our sentences. */
static const char *behind(const char *at) {
    static const char *const elements[][2] = {
        {"<style", "</style>"}, {"<script", "</script>"}, {"<svg", "</svg>"}, {"<pre", "</pre>"},
        {"<title", "</title>"}, {"<bdi", "</bdi>"},       {"<", ">"}};
    for (size_t i = 0; i < sizeof elements / sizeof *elements; i++)
        if (begins(at, elements[i][0])) {
            const char *end = strstr(at, elements[i][1]);
            return end ? end + strlen(elements[i][1]) : at + strlen(at);
        }
    return at + 1;
}

/* A number and its unit, and both sides of a "±", stay on a line. */
static void add_bound(struct cw_text *out, const char *text) {
    static const char plus_minus[] = "±";
    for (const char *at = text; *at; at++) {
        bool number = at > text && at[-1] >= '0' && at[-1] <= '9';
        bool around = (size_t)(at - text) >= strlen(plus_minus) &&
                      begins(at - strlen(plus_minus), plus_minus);
        bool bound = *at == ' ' && ((number && cw_is_unit(at + 1, strcspn(at + 1, " \u00a0&"))) ||
                                    (around && at[1] >= '0' && at[1] <= '9'));
        cw_text_add_bytes(out, bound ? "\u00a0" : at, bound ? strlen("\u00a0") : 1);
    }
}

/* Text between tags; cells of tables are in the units already. */
static void add_sentences(struct cw_text *out, const char *text, size_t length, bool in_cells,
                          enum cw_units units) {
    struct cw_text ours = {0}, said = {0};
    cw_text_add_bytes(&ours, text, length);
    cw_units_say(&said, ours.bytes ? ours.bytes : "", in_cells ? CW_UNITS_METRIC : units);
    add_bound(out, said.bytes ? said.bytes : "");
    out->failed |= ours.failed || said.failed;
    cw_text_free(&ours);
    cw_text_free(&said);
}

void cw_page_say_units(struct cw_text *page, enum cw_units units) {
    struct cw_text said = {0};
    bool in_cells = false;
    for (const char *at = page->bytes ? page->bytes : ""; *at;) {
        size_t length = strcspn(at, "<\n");
        if (length) add_sentences(&said, at, length, in_cells, units);
        at += length;
        in_cells = (in_cells || begins(at, "<tbody")) && !begins(at, "</tbody");
        const char *next = *at == '<' ? behind(at) : at + (*at == '\n');
        cw_text_add_bytes(&said, at, (size_t)(next - at));
        at = next;
    }
    said.failed |= page->failed;
    cw_text_free(page);
    *page = said;
}

void cw_page_take_units(struct cw_text *part, enum cw_units units, struct cw_text *text) {
    cw_page_say_units(part, units);
    if (part->failed) text->failed = true;
    if (part->bytes) cw_text_add_bytes(text, part->bytes, part->length);
    cw_text_free(part);
}
