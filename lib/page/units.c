/* Numbers and their units stay on one line. */
#include <stdbool.h>
#include <string.h>

#include "page/parts.h"

static const char *const units[] = {"%",  "s",   "m",   "m²", "m/s", "km/h", "kg",    "W", "N",
                                    "°C", "hPa", "kPa", "h",  "g",   "km",   "kg/m³", "ms"};

static bool begins(const char *at, const char *what) {
    return !strncmp(at, what, strlen(what));
}

/* Whether a word ends here: in ASCII, and not within "m/s". */
static bool ends_word(const char *at) {
    unsigned char c = (unsigned char)*at;
    return c < 0x80 && c != '/' && c != '_' && !(c >= '0' && c <= '9') &&
           !((c | 0x20) >= 'a' && (c | 0x20) <= 'z');
}

static bool is_unit(const char *at) {
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (begins(at, units[i]) && ends_word(at + strlen(units[i]))) return true;
    return false;
}

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* Behind a tag; and behind an element whose text is no sentence. */
static const char *behind(const char *at) {
    static const char *const elements[][2] = {{"<style", "</style>"},
                                              {"<script", "</script>"},
                                              {"<svg", "</svg>"},
                                              {"<pre", "</pre>"},
                                              {"<", ">"}};
    for (size_t i = 0; i < sizeof elements / sizeof *elements; i++)
        if (begins(at, elements[i][0])) {
            const char *end = strstr(at, elements[i][1]);
            return end ? end + strlen(elements[i][1]) : at + strlen(at);
        }
    return at + 1;
}

void cw_page_bind_units(struct cw_text *text) {
    struct cw_text bound = {0};
    const char *from = text->bytes, *at = from;
    while (at && *at) {
        if (*at == '<') {
            at = behind(at);
            continue;
        }
        bool number = at > from && is_digit(at[-1]), around = at - from >= 2 && begins(at - 2, "±");
        if (*at == ' ' && ((number && is_unit(at + 1)) || (around && is_digit(at[1])))) {
            cw_text_add_bytes(&bound, from, (size_t)(at - from));
            cw_text_add(&bound, "\u00a0");
            from = at + 1;
        }
        at++;
    }
    if (from) cw_text_add(&bound, "%s", from);
    if (bound.failed) text->failed = true;
    if (bound.failed || !bound.bytes) {
        cw_text_free(&bound);
        return;
    }
    cw_text_free(text);
    *text = bound;
}
