/* Names of anything at all on the page and in the pictures: they stay text. The page has the tags
 * that it has with plain names, and each picture is XML that its reader takes whole. Built as a
 * fuzzer with -Dfuzz=true, and by replay.c for every test run. */
#include <libxml/parser.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "made.h"
#include "page/page.h"
#include "picture/picture.h"

enum { NAME_MOST = 300 };

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void promise(int kept) {
    if (!kept) abort();
}

static struct made made;
static struct acts {
    size_t scripts, links, frames;
} plain; /* what a page has of tags that act, its names being plain */

static size_t count(const char *text, const char *what) {
    size_t n = 0;
    for (; (text = strstr(text, what)); text += strlen(what)) n++;
    return n;
}

static struct acts acts_of(const char *page) {
    return (struct acts){count(page, "<script"), count(page, "<a "),
                         count(page, "<iframe") + count(page, "<img") + count(page, "<object")};
}

static void check_page(const struct cw_text *page) {
    struct acts acts = acts_of(page->bytes);
    promise(cw_utf8_valid(page->bytes, page->length));
    promise(acts.scripts == plain.scripts && acts.frames == plain.frames &&
            acts.links == plain.links);
}

static void check_picture(const struct cw_text *text) {
    xmlDocPtr document = xmlReadMemory(text->bytes, (int)text->length, NULL, NULL,
                                       XML_PARSE_NONET | XML_PARSE_NOERROR | XML_PARSE_NOWARNING);
    promise(document != NULL);
    xmlFreeDoc(document);
}

static struct cw_text make_page(const char *argument) {
    const char *arguments[] = {"coastwise", argument};
    const struct cw_page_origin origin = {.version = "0", .n_arguments = 2, .arguments = arguments};
    struct cw_text page = {0};
    promise(cw_page_add(&made.analysis, CW_UNITS_METRIC, &origin, &page, NULL) >= 0);
    return page;
}

/* Two runs of two setups, fitted and compared, and their page, once. */
static void begin(void) {
    static struct cw_simulate_options options;
    static bool begun;
    if (begun) return;
    begun = true;
    options = cw_simulate_options_default();
    options.n_order = 4;
    options.order[0] = options.order[3] = 0;
    options.order[1] = options.order[2] = 1;
    promise(made_fit(&made, &options, NULL) >= 0 &&
            cw_analysis_average(&made.analysis, NULL) >= 0 &&
            cw_analysis_compare(&made.analysis, NULL, NULL) >= 0 &&
            cw_analysis_time(&made.analysis, NULL) >= 0);
    struct cw_text page = make_page("x");
    plain = acts_of(page.bytes);
    cw_text_free(&page);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length) {
    char name[NAME_MOST + 1];
    begin();
    if (length > NAME_MOST || memchr(bytes, 0, length)) return 0;
    if (length) memcpy(name, bytes, length);
    name[length] = '\0';
    struct cw_outing *outing = &made.of->outing;
    struct cw_compare *compare = &made.analysis.compare;
    char *kept[] = {outing->name, outing->file, outing->setups[0].name,
                    outing->setups[0].description};
    const char *compared = compare->setups[0].name;
    outing->name = outing->file = outing->setups[0].name = outing->setups[0].description = name;
    compare->setups[0].name = name;
    struct cw_text page = make_page(name);
    check_page(&page);
    cw_text_free(&page);
    size_t n;
    const struct cw_picture *pictures = cw_pictures(&n);
    for (size_t i = 0; i < n; i++) {
        struct cw_text picture = {0};
        if (cw_picture_add(&pictures[i], &made.analysis, 0, true, CW_UNITS_METRIC, "p", &picture,
                           NULL) >= 0)
            check_picture(&picture);
        cw_text_free(&picture);
    }
    outing->name = kept[0];
    outing->file = kept[1];
    outing->setups[0].name = kept[2];
    outing->setups[0].description = kept[3];
    compare->setups[0].name = compared;
    return 0;
}
