#include "page/page.h"

#include <math.h>
#include <string.h>

#include "base/checksum.h"
#include "base/print.h"
#include "base/utf8.h"
#include "page/assets.h"
#include "page/parts.h"
#include "page/room.h"
#include "picture/labels.h"
#include "picture/picture.h"
#include "report/history.h"
#include "report/markup.h"

/* The outing's name in the upper margin of each page on paper: what is no letter, digit or blank is
 * a number in the style sheet, so that it can end neither string nor element. */
static const double margin_width = 480, margin_font = 8;

static void add_margin_style(const struct cw_analysis *analysis, struct cw_text *text) {
    struct cw_text whole = {0}, name = {0};
    cw_utf8_add_shown(&whole, analysis->n ? analysis->outings[0].outing.name : "");
    if (analysis->n > 1) cw_text_add(&whole, " and %zu more", analysis->n - 1);
    cw_label_shorten(&name, whole.bytes, margin_width, margin_font);
    cw_text_add(text, "@page{@top-left{content:\"");
    for (size_t i = 0; i < name.length; i++) {
        unsigned char c = (unsigned char)name.bytes[i];
        bool plain = c >= 0x80 || c == ' ' || (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') ||
                     (c >= 'A' && c <= 'Z');
        cw_text_add(text, plain ? "%c" : "\\%x ", c);
    }
    cw_text_add(text, "\"}}");
    if (whole.failed || name.failed) text->failed = true;
    cw_text_free(&whole);
    cw_text_free(&name);
}

/* Nothing is loaded, sent or run but this page's own style and script, known by checksum: should
 * some text ever slip in as markup, it still does nothing. */
static void add_policy(const char *margin_style, struct cw_text *text) {
    const char *const styles[] = {cw_page_style, margin_style, cw_picture_style()};
    char checksum[CW_CHECKSUM_BASE64];
    cw_text_add(text, "<meta http-equiv=\"Content-Security-Policy\" content=\""
                      "default-src 'none'; base-uri 'none'; form-action 'none'; style-src");
    for (size_t i = 0; i < sizeof styles / sizeof *styles; i++) {
        cw_checksum_base64(styles[i], strlen(styles[i]), checksum);
        cw_text_add(text, " 'sha256-%s'", checksum);
    }
    cw_checksum_base64(cw_page_script, strlen(cw_page_script), checksum);
    cw_text_add(text, "; script-src 'sha256-%s'\">\n", checksum);
}

static void add_head(const struct cw_analysis *analysis, struct cw_text *text) {
    struct cw_text margin = {0};
    add_margin_style(analysis, &margin);
    cw_text_add(text, CW_PAGE_BEGINNING);
    add_policy(margin.bytes ? margin.bytes : "", text);
    cw_text_add(text, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                      "<meta name=\"color-scheme\" content=\"light dark\">\n"
                      "<meta name=\"referrer\" content=\"no-referrer\">\n<title>");
    cw_page_add_title(analysis, text);
    cw_text_add(text, "</title>\n<style>%s</style>\n<style>%s</style>\n</head>\n", cw_page_style,
                margin.bytes ? margin.bytes : "");
    if (margin.failed) text->failed = true;
    cw_text_free(&margin);
}

/* ---- pictures ---- */

/* "Setups", and where there are several outings, whose. */
static void add_picture_name(const struct cw_analysis *analysis, const struct cw_picture *picture,
                             size_t outing, struct cw_text *text) {
    cw_text_add(text, "%s", picture->heading);
    if (analysis->n < 2 || picture->of == CW_PICTURE_OF_ALL) return;
    cw_text_add(text, ": ");
    cw_markup_add_name(text, analysis->outings[outing].outing.name);
}

/* The picture under its name; why there is none goes to missed. */
static enum cw_status add_figure(const struct cw_page *page, const struct cw_picture *picture,
                                 size_t outing, struct cw_text *missed, struct cw_text *text,
                                 struct cw_error *error) {
    const struct cw_analysis *analysis = page->analysis;
    struct cw_text svg = {0};
    struct cw_error why = {0};
    char prefix[64];
    cw_print(prefix, sizeof prefix, "%s-%zu-", picture->name, outing + 1);
    enum cw_status status =
        cw_picture_add(picture, analysis, outing, false, page->units, prefix, &svg, &why);
    if (status >= 0 && svg.bytes) {
        cw_text_add(text, "<figure class=\"of-%s\">\n<figcaption><h3 id=\"see-%s-%zu\">",
                    picture->name, picture->name, outing + 1);
        add_picture_name(analysis, picture, outing, text);
        cw_text_add(text,
                    "</h3>%s <a href=\"#%s\" aria-label=\"%s: the numbers\">The numbers</a>"
                    "</figcaption>\n<div class=\"picture\" id=\"picture-%s-%zu\" role=\"group\" "
                    "tabindex=\"0\" aria-label=\"%s: picture\">",
                    picture->caption, picture->numbers, picture->heading, picture->name, outing + 1,
                    picture->heading);
        cw_text_add_bytes(text, svg.bytes, svg.length);
        cw_text_add(text, "</div>\n</figure>\n");
    } else if (status == CW_E_DATA) {
        cw_text_add(missed, "<p class=\"soft\">Not drawn: ");
        add_picture_name(analysis, picture, outing, missed);
        cw_text_add(missed, ", for ");
        cw_markup_add(missed, why.message);
        cw_text_add(missed, ".</p>\n");
        status = CW_OK;
    } else if (error) {
        *error = why;
    }
    if (svg.failed) text->failed = true;
    cw_text_free(&svg);
    return status;
}

/* Setups whose tyres have a pressure. */
static size_t pressures_of(const struct cw_outing *outing) {
    size_t n = 0;
    for (size_t s = 0; s < outing->n_setups; s++)
        n += isfinite(cw_outing_pressure_kpa(outing, outing->setups[s].tyres)) ? 1 : 0;
    return n;
}

/* That nobody else saw the winds, noted pressures or changed tyres is the rule, and not worth a
 * place where a picture is missed. */
static bool is_missed(const struct cw_analysis *analysis, const struct cw_picture *picture) {
    for (size_t o = 0; o < analysis->n && picture->needs & CW_PICTURE_NEEDS_PRESSURES; o++)
        if (pressures_of(&analysis->outings[o].outing) >= CW_PICTURE_PRESSURES_LEAST) return true;
    if (picture->needs & CW_PICTURE_NEEDS_PRESSURES) return false;
    if (picture->needs & CW_PICTURE_NEEDS_TYRES)
        return analysis->compared && cw_compare_tells_rolling(&analysis->compare);
    if (picture->needs & CW_PICTURE_NEEDS_HISTORY) return cw_history_told(analysis);
    if (!(picture->needs & CW_PICTURE_NEEDS_WINDS)) return true;
    for (size_t i = 0; i < analysis->compare.n_runs; i++)
        if (cw_among_seen(&analysis->compare.runs[i])) return true;
    return false;
}

static enum cw_status add_pictures(const struct cw_page *page, struct cw_text *text,
                                   struct cw_error *error) {
    const struct cw_analysis *analysis = page->analysis;
    enum cw_status status = CW_OK;
    struct cw_text missed = {0};
    size_t n;
    const struct cw_picture *pictures = cw_pictures(&n);
    for (size_t i = 0; i < n && status >= 0; i++) {
        const struct cw_picture *picture = &pictures[i];
        if (!is_missed(analysis, picture)) continue;
        size_t outings = picture->of == CW_PICTURE_OF_ALL ? 1 : analysis->n;
        for (size_t o = 0; o < outings && status >= 0; o++)
            status = add_figure(page, picture, o, &missed, text, error);
    }
    if (missed.bytes) cw_text_add_bytes(text, missed.bytes, missed.length);
    if (missed.failed) text->failed = true;
    cw_text_free(&missed);
    return status;
}

/* ---- numbers and words ---- */

static void add_assumed(const struct cw_page *page, size_t outing, struct cw_text *text) {
    cw_page_add_defaults(page->analysis, outing, text);
    cw_page_add_warnings(page->analysis, outing, text);
}

static void add_compared(const struct cw_page *page, struct cw_text *text) {
    cw_page_add_setups(page, text);
    cw_page_add_comparisons(page, text);
}

/* The sections below the answer, in their order: of all outings, or with a part for each, or the
 * pictures. The contents say the same words. */
struct section {
    const char *id, *heading;
    void (*of_all)(const struct cw_page *page, struct cw_text *text);
    void (*of_outing)(const struct cw_page *page, size_t outing, struct cw_text *text);
    bool (*told)(const struct cw_analysis *analysis); /* else left out; NULL: always there */
    bool on_board; /* no wider than a picture: with them in columns */
};
static const struct section sections[] = {
    {.id = "pictures", .heading = "Pictures", .on_board = true},
    {.id = "budget", .heading = "Error budget", .of_all = cw_page_add_budget, .on_board = true},
    {.id = "untold",
     .heading = "What could not be told apart",
     .of_all = cw_page_add_untold,
     .on_board = true},
    {.id = "noise", .heading = "Noise found", .of_outing = cw_page_add_noise, .on_board = true},
    {.id = "comparisons", .heading = "Setups compared", .of_all = add_compared},
    {.id = "history",
     .heading = "Outing by outing",
     .of_all = cw_page_add_history,
     .told = cw_history_told},
    {.id = "ridden", .heading = "What was ridden", .of_outing = cw_page_add_ridden},
    {.id = "runs", .heading = "Runs", .of_outing = cw_page_add_runs},
    {.id = "timed", .heading = "Times as measured", .of_outing = cw_page_add_timed},
    {.id = "explained",
     .heading = "What each cause made of it",
     .of_outing = cw_page_add_explained},
    {.id = "assumed", .heading = "Defaults and warnings", .of_outing = add_assumed},
    {.id = "method", .heading = "How it was worked out", .of_all = cw_page_add_method},
    {.id = "next", .heading = "What next", .of_all = cw_page_add_next},
    {.id = "care", .heading = "Before the next ride", .of_all = cw_page_add_care},
};

static bool is_told(const struct cw_analysis *analysis, const struct section *section) {
    return !section->told || section->told(analysis);
}

static void add_contents(const struct cw_analysis *analysis, struct cw_text *text) {
    cw_text_add(text, "<nav aria-label=\"On this page\"><ul>\n");
    for (size_t i = 0; i < sizeof sections / sizeof *sections; i++)
        if (is_told(analysis, &sections[i]))
            cw_text_add(text, "<li><a href=\"#%s\">%s</a></li>\n", sections[i].id,
                        sections[i].heading);
    cw_text_add(text, "<li><a href=\"#origin\">" CW_PAGE_ORIGIN "</a></li>\n</ul></nav>\n");
}

static void add_section(const struct cw_page *page, const struct section *section,
                        struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    cw_text_add(text, "<section class=\"%s\" aria-labelledby=\"%s\"><h2 id=\"%s\">%s</h2>\n",
                section->id, section->id, section->id, section->heading);
    if (section->of_all) section->of_all(page, text);
    for (size_t o = 0; o < analysis->n && section->of_outing; o++) {
        cw_text_add(text, "<div data-outing=\"");
        cw_markup_add(text, analysis->n > 1 ? analysis->outings[o].outing.name : "");
        cw_text_add(text, "\">\n");
        cw_page_add_whose(analysis, o, text);
        section->of_outing(page, o, text);
        cw_text_add(text, "</div>\n");
    }
    cw_text_add(text, "</section>\n");
}

static enum cw_status add_sections(const struct cw_page *page, struct cw_text *text,
                                   struct cw_error *error) {
    enum cw_status status = CW_OK;
    bool on_board = false;
    for (size_t i = 0; i < sizeof sections / sizeof *sections && status >= 0; i++) {
        const struct section *section = &sections[i];
        if (section->on_board != on_board)
            cw_text_add(text, on_board ? "</div>\n" : "<div class=\"board\">\n");
        on_board = section->on_board;
        if (!is_told(page->analysis, section)) continue;
        if (section->of_all || section->of_outing) {
            add_section(page, section, text);
        } else {
            cw_text_add(text, "<h2 id=\"%s\">%s</h2>\n", section->id, section->heading);
            status = add_pictures(page, text, error);
        }
    }
    return status;
}

/* Of several outings the style sheet keeps so much of paper that a page or two are left for each.
 */
static const char left_out_on_paper[] =
    "<p class=\"soft on-paper\">On paper each outing is without its pictures of speed and "
    "ground, the noise found and the table of times: they are on the screen, and on the page of an "
    "outing by itself.</p>\n";

static enum cw_status add_page(const struct cw_page *page, const struct cw_page_origin *origin,
                               struct cw_text *text, struct cw_error *error) {
    const struct cw_analysis *analysis = page->analysis;
    add_head(analysis, text);
    cw_text_add(text, "<body%s>\n<a class=\"skip\" href=\"#answer\">To the answer</a>\n",
                analysis->n > 1 ? " class=\"several\"" : "");
    cw_page_add_header(analysis, text);
    cw_text_add(text, "<main>\n");
    cw_page_add_answer(page, text);
    if (analysis->n > 1) cw_text_add(text, "%s", left_out_on_paper);
    add_contents(analysis, text);
    enum cw_status status = add_sections(page, text, error);
    if (status < 0) return status;
    cw_text_add(text, "</main>\n");
    cw_page_add_origin(origin, text);
    cw_text_add(text, "<script>%s</script>\n</body>\n</html>\n", cw_page_script);
    cw_page_say_units(text, page->units);
    return text->failed ? cw_error_memory(error) : CW_OK;
}

enum cw_status cw_page_add(const struct cw_analysis *analysis, enum cw_units units,
                           const struct cw_page_origin *origin, struct cw_text *text,
                           struct cw_error *error) {
    const struct cw_page page = {analysis, units};
    struct cw_text whole = {0};
    enum cw_status status = add_page(&page, origin, &whole, error);
    if (status >= 0 && whole.bytes) cw_text_add_bytes(text, whole.bytes, whole.length);
    cw_text_free(&whole);
    return status >= 0 && text->failed ? cw_error_memory(error) : status;
}
