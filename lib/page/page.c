#include "page/page.h"

#include <math.h>
#include <string.h>

#include "base/checksum.h"
#include "base/print.h"
#include "page/assets.h"
#include "page/parts.h"
#include "page/room.h"
#include "picture/picture.h"
#include "report/markup.h"

/* Nothing is loaded, sent or run but this page's own style and script, known by checksum: should
 * some text ever slip in as markup, it still does nothing. */
static void add_policy(struct cw_text *text) {
    const char *const styles[] = {cw_page_style, cw_picture_style()};
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
    cw_text_add(text, CW_PAGE_BEGINNING);
    add_policy(text);
    cw_text_add(text, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                      "<meta name=\"color-scheme\" content=\"light dark\">\n"
                      "<meta name=\"referrer\" content=\"no-referrer\">\n<title>");
    cw_page_add_title(analysis, text);
    cw_text_add(text, "</title>\n<style>%s</style>\n</head>\n", cw_page_style);
}

typedef void (*outing_part)(const struct cw_analysis *analysis, size_t outing,
                            struct cw_text *text);

/* A section with a part for each outing. */
static void add_section(const struct cw_analysis *analysis, const char *id, const char *heading,
                        outing_part part, struct cw_text *text) {
    cw_text_add(text, "<section aria-labelledby=\"%s\"><h2 id=\"%s\">%s</h2>\n", id, id, heading);
    for (size_t o = 0; o < analysis->n; o++) {
        cw_text_add(text, "<div data-outing=\"");
        cw_markup_add(text, analysis->n > 1 ? analysis->outings[o].outing.name : "");
        cw_text_add(text, "\">\n");
        cw_page_add_whose(analysis, o, text);
        part(analysis, o, text);
        cw_text_add(text, "</div>\n");
    }
    cw_text_add(text, "</section>\n");
}

/* ---- pictures ---- */

static enum cw_status add_figure(const struct cw_analysis *analysis,
                                 const struct cw_picture *picture, size_t outing,
                                 struct cw_text *text, struct cw_error *error) {
    struct cw_text svg = {0};
    struct cw_error why = {0};
    char prefix[64];
    cw_print(prefix, sizeof prefix, "%s-%zu-", picture->name, outing + 1);
    enum cw_status status = cw_picture_add(picture, analysis, outing, prefix, &svg, &why);
    if (picture->of == CW_PICTURE_OF_OUTING) cw_page_add_whose(analysis, outing, text);
    if (status >= 0 && svg.bytes) {
        cw_text_add(text,
                    "<figure>\n<div class=\"picture\" id=\"picture-%s-%zu\" role=\"group\" "
                    "tabindex=\"0\" aria-label=\"%s: picture\">",
                    picture->name, outing + 1, picture->heading);
        cw_text_add_bytes(text, svg.bytes, svg.length);
        cw_text_add(text,
                    "</div>\n<figcaption>%s <a href=\"#%s\" aria-label=\"%s: the numbers\">The "
                    "numbers</a></figcaption>\n</figure>\n",
                    picture->caption, picture->numbers, picture->heading);
    } else if (status == CW_E_DATA) {
        cw_text_add(text, "<p class=\"soft\">No picture: ");
        cw_markup_add(text, why.message);
        cw_text_add(text, ".</p>\n");
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
    if (!(picture->needs & CW_PICTURE_NEEDS_WINDS)) return true;
    for (size_t i = 0; i < analysis->compare.n_runs; i++)
        if (cw_among_seen(&analysis->compare.runs[i])) return true;
    return false;
}

static enum cw_status add_board(const struct cw_analysis *analysis, struct cw_text *text,
                                struct cw_error *error) {
    enum cw_status status = CW_OK;
    size_t n;
    const struct cw_picture *pictures = cw_pictures(&n);
    cw_text_add(text, "<div class=\"board\" id=\"pictures\">\n");
    for (size_t i = 0; i < n && status >= 0; i++) {
        const struct cw_picture *picture = &pictures[i];
        if (!is_missed(analysis, picture)) continue;
        size_t outings = picture->of == CW_PICTURE_OF_ALL ? 1 : analysis->n;
        cw_text_add(text, "<section aria-labelledby=\"see-%s\"><h2 id=\"see-%s\">%s</h2>\n",
                    picture->name, picture->name, picture->heading);
        for (size_t o = 0; o < outings && status >= 0; o++)
            status = add_figure(analysis, picture, o, text, error);
        cw_text_add(text, "</section>\n");
    }
    cw_text_add(text, "<div>\n");
    add_section(analysis, "noise", "Noise found", cw_page_add_noise, text);
    cw_page_add_untold(analysis, text);
    cw_text_add(text, "</div>\n</div>\n");
    return status;
}

static void add_contents(struct cw_text *text) {
    static const char *const parts[][2] = {{"pictures", "Pictures"},
                                           {"noise", "Noise and limits"},
                                           {"comparisons", "Setups compared"},
                                           {"runs", "Runs"},
                                           {"assumed", "Defaults and warnings"},
                                           {"method", "Method"},
                                           {"care", "Cautions"},
                                           {"origin", "Origin"}};
    cw_text_add(text, "<nav aria-label=\"On this page\"><ul>\n");
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        cw_text_add(text, "<li><a href=\"#%s\">%s</a></li>\n", parts[i][0], parts[i][1]);
    cw_text_add(text, "</ul></nav>\n");
}

/* ---- numbers and words ---- */

static void add_assumed(const struct cw_analysis *analysis, size_t outing, struct cw_text *text) {
    cw_page_add_defaults(analysis, outing, text);
    cw_page_add_warnings(analysis, outing, text);
}

static void add_numbers(const struct cw_analysis *analysis, struct cw_text *text) {
    cw_text_add(text, "<section aria-labelledby=\"comparisons\">"
                      "<h2 id=\"comparisons\">Setups compared</h2>\n");
    cw_page_add_setups(analysis, text);
    cw_page_add_comparisons(analysis, text);
    cw_text_add(text, "</section>\n");
    add_section(analysis, "runs", "Runs", cw_page_add_runs, text);
    add_section(analysis, "timed", "Times as measured", cw_page_add_timed, text);
    add_section(analysis, "explained", "What each cause made of it", cw_page_add_explained, text);
    cw_text_add(text, "<section aria-labelledby=\"budget\">"
                      "<h2 id=\"budget\">Error budget in numbers</h2>\n");
    cw_page_add_budget(analysis, text);
    cw_text_add(text, "</section>\n");
    add_section(analysis, "assumed", "Defaults and warnings", add_assumed, text);
}

enum cw_status cw_page_add(const struct cw_analysis *analysis, const struct cw_page_origin *origin,
                           struct cw_text *text, struct cw_error *error) {
    add_head(analysis, text);
    cw_text_add(text, "<body>\n<a class=\"skip\" href=\"#answer\">To the answer</a>\n");
    cw_page_add_header(analysis, text);
    cw_text_add(text, "<main>\n");
    cw_page_add_answer(analysis, text);
    add_contents(text);
    enum cw_status status = add_board(analysis, text, error);
    if (status < 0) return status;
    add_numbers(analysis, text);
    cw_page_add_method(text);
    cw_page_add_care(analysis, text);
    cw_text_add(text, "</main>\n");
    cw_page_add_origin(origin, text);
    cw_text_add(text, "<script>%s</script>\n</body>\n</html>\n", cw_page_script);
    return text->failed ? cw_error_memory(error) : CW_OK;
}
