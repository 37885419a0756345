#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "base/warning.h"
#include "page/parts.h"
#include "physics/stopping.h"
#include "report/cautions.h"
#include "report/compare_facts.h"
#include "report/fit_facts.h"
#include "report/markup.h"
#include "report/next.h"
#include "timed/steps.h"

static void add_item(struct cw_text *text, const char *sentence) {
    cw_text_add(text, "<li dir=\"auto\">");
    cw_markup_add(text, sentence);
    cw_text_add(text, "</li>\n");
}

void cw_page_add_sentences(struct cw_sentences *sentences, struct cw_text *text) {
    if (sentences->text.failed) text->failed = true;
    if (sentences->n) cw_text_add(text, "<ul>\n");
    for (const char *sentence = NULL; (sentence = cw_sentences_next(sentences, sentence));)
        add_item(text, sentence);
    if (sentences->n) cw_text_add(text, "</ul>\n");
    cw_sentences_free(sentences);
}

/* Frees the sentences. */
static void add_list(const char *title, struct cw_sentences *sentences, const char *none,
                     struct cw_text *text) {
    cw_text_add(text, "<p><strong>%s</strong></p>\n", title);
    if (!sentences->n) cw_text_add(text, "<p>%s</p>\n", none);
    cw_page_add_sentences(sentences, text);
}

void cw_page_add_defaults(const struct cw_analysis *analysis, size_t outing, struct cw_text *text) {
    struct cw_sentences defaults = {0};
    cw_fit_defaults(&analysis->outings[outing], &defaults);
    add_list("Taken for granted, as the outing file does not say", &defaults,
             "Nothing: the outing file says everything.", text);
}

void cw_page_add_warnings(const struct cw_analysis *analysis, size_t outing, struct cw_text *text) {
    struct cw_sentences warnings = {0};
    cw_fit_warnings(&analysis->outings[outing], &warnings);
    add_list("Warnings", &warnings, "None.", text);
}

/* ---- what could not be told ---- */

static void add_pair(const struct cw_compare *compare, const struct cw_comparison *comparison,
                     const char *what, struct cw_text *text) {
    cw_text_add(text, "<li>");
    cw_markup_add_name(text, compare->setups[comparison->setup].name);
    cw_text_add(text, " and ");
    cw_markup_add_name(text, compare->setups[comparison->reference].name);
    cw_text_add(text, ": %s.</li>\n", what);
}

static void add_undecided(const struct cw_compare *compare, struct cw_text *text) {
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        const struct cw_comparison *comparison = &compare->comparisons[i];
        if (comparison->verdict == CW_VERDICT_UNDECIDED && !comparison->drag_said)
            add_pair(compare, comparison, "which has less drag", text);
        if (comparison->rolling.compared && comparison->rolling.verdict == CW_VERDICT_UNDECIDED)
            add_pair(compare, comparison, "which rolls better", text);
    }
}

static void add_of_outing(const struct cw_analysis *analysis, size_t outing, struct cw_text *text) {
    const struct cw_analysed *of = &analysis->outings[outing];
    const struct cw_fit *fit = &of->fit;
    for (size_t i = 0; i < fit->n_runs; i++) {
        if (fit->runs[i].identifiable) continue;
        cw_text_add(text, "<li>Run %ld", of->runs.at[fit->runs[i].run].number);
        if (analysis->n > 1) {
            cw_text_add(text, " of ");
            cw_markup_add_name(text, of->outing.name);
        }
        cw_text_add(text, ", alone: ");
        cw_unknown_alone_add(&fit->runs[i], text);
        cw_text_add(text, ".</li>\n");
    }
    for (size_t t = 0; t < fit->n_tyres; t++) {
        if (fit->crr_given || fit->crr_identifiable[t]) continue;
        cw_text_add(text, "<li>Crr of the tyres ");
        cw_markup_add_name(text, fit->tyres[t]);
        cw_text_add(text, ".</li>\n");
    }
}

void cw_page_add_untold(const struct cw_page *page, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    const struct cw_compare *compare = cw_analysis_compared(analysis);
    struct cw_sentences limits = {0};
    struct cw_text items = {0};
    if (compare) add_undecided(compare, &items);
    for (size_t o = 0; o < analysis->n; o++) add_of_outing(analysis, o, &items);
    if (compare) cw_compare_limits(analysis, &limits);
    for (size_t i = 0; compare && i < compare->warnings.n; i++) {
        char sentence[CW_WARNING_TEXT];
        cw_warning_text(&compare->warnings.at[i], false, sentence);
        cw_sentences_add(&limits, "%s", sentence);
    }
    if (items.bytes) cw_text_add(text, "<ul>\n%s</ul>\n", items.bytes);
    if (!items.bytes && !limits.n) cw_text_add(text, "<p>Nothing of what was asked.</p>\n");
    cw_page_add_sentences(&limits, text);
    if (items.failed) text->failed = true;
    cw_text_free(&items);
}

/* ---- fixed words ---- */

void cw_page_add_method(const struct cw_page *page, struct cw_text *text) {
    (void)page;
    cw_text_add(
        text,
        "<ol>\n"
        "<li>A run is a stretch coasted without pedalling or braking, down a slope or on the level "
        "from speed. Cadence and power tell it where they were recorded, the energy that is lost "
        "along the way tells it "
        "throughout.</li>\n"
        "<li>Along a run, height and speed turn into drag and rolling resistance. Speed alone so "
        "tells a height, the virtual elevation, that is right only with the right drag area CdA "
        "and rolling coefficient Crr.</li>\n"
        "<li>Runs of an outing share a road. They are fitted at once, with the "
        "road's own profile as an unknown, so that its errors cancel between setups.</li>\n"
        "<li>Gusts, drift and lag of the recorded heights, and the scatter of speeds and positions "
        "are sized from the runs themselves (restricted maximum likelihood) and weigh in every "
        "error (generalised least squares).</li>\n"
        "<li>Setups are compared by the logarithm of CdA, with what differs from run to run beyond "
        "those errors: a scatter, winds that turn, and a drift over the outing. With more than two "
        "setups, Holm's adjustment keeps chance from passing for a finding.</li>\n"
        "<li>What no scatter shows (mass, air, mean wind, height scale) is in the error budget, "
        "and "
        "in every interval. It moves every CdA alike, so that most of it cancels in a difference: "
        "a difference is better "
        "known than either CdA.</li>\n"
        "</ol>\n");
}

void cw_page_add_next(const struct cw_page *page, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    struct cw_sentences next = {0};
    cw_next_said(analysis, &next);
    cw_page_add_sentences(&next, text);
}

static void add_fastest(const struct cw_run *run, struct cw_text *text) {
    cw_caution_add_speed(text, "The fastest run here reached", run->top_speed_ms,
                         cw_stopping_distance(run->top_speed_ms, run->mean_slope),
                         cw_is_coast_down(run) ? "road" : "slope");
}

void cw_page_add_care(const struct cw_page *page, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    const struct cw_run *fastest = NULL;
    bool level = false;
    for (size_t o = 0; o < analysis->n; o++) {
        const struct cw_analysed *of = &analysis->outings[o];
        for (size_t i = 0; i < of->fit.n_runs; i++) {
            const struct cw_run *run = &of->runs.at[of->fit.runs[i].run];
            if (!fastest || run->top_speed_ms > fastest->top_speed_ms) fastest = run;
            level = level || cw_is_coast_down(run);
        }
    }
    cw_text_add(text, "<p>");
    if (fastest) add_fastest(fastest, text);
    cw_text_add(text, "%s</p>\n", cw_caution_coasting);
    if (level) cw_text_add(text, "<p>%s</p>\n", cw_caution_level);
    cw_text_add(text, "<p>%s</p>\n", cw_caution_law);
}

/* ---- how the page was made ---- */

/* Whether a shell takes the argument for one word as it stands. */
static bool is_plain(const char *argument) {
    return *argument && !argument[strspn(argument, "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                                   "abcdefghijklmnopqrstuvwxyz0123456789"
                                                   "-_./,:=+@%")];
}

/* Whether it is shown as what it is: no control characters, nothing invisible or that turns the
 * direction of writing (U+061C, U+200B to U+200F, U+202A to U+202E, U+2060 to U+206F, U+FEFF), and
 * all of it UTF-8. */
static bool is_shown(const char *argument) {
    if (!cw_utf8_valid(argument, strlen(argument))) return false;
    for (const unsigned char *c = (const unsigned char *)argument; *c; c++)
        if (*c < 0x20 || *c == 0x7f || (*c == 0xc2 && c[1] < 0xa0) ||
            (*c == 0xd8 && c[1] == 0x9c) ||
            (*c == 0xe2 && c[1] == 0x80 &&
             ((c[2] >= 0x8b && c[2] <= 0x8f) || (c[2] >= 0xaa && c[2] <= 0xae))) ||
            (*c == 0xe2 && c[1] == 0x81 && c[2] >= 0xa0 && c[2] <= 0xaf) ||
            (*c == 0xef && c[1] == 0xbb && c[2] == 0xbf))
            return false;
    return true;
}

/* The argument as a shell reads it back: 'in quotes', or $'with octal bytes'. */
static void add_argument(const char *argument, struct cw_text *quoted) {
    if (is_plain(argument)) {
        cw_text_add(quoted, "%s", argument);
        return;
    }
    bool shown = is_shown(argument);
    cw_text_add(quoted, shown ? "'" : "$'");
    for (const char *c = argument; *c; c++) {
        if (*c == '\'')
            cw_text_add(quoted, shown ? "'\\''" : "\\'");
        else if (!shown && *c == '\\')
            cw_text_add(quoted, "\\\\");
        else if (!shown && ((unsigned char)*c < 0x20 || (unsigned char)*c >= 0x7f))
            cw_text_add(quoted, "\\%03o", (unsigned)(unsigned char)*c);
        else
            cw_text_add_bytes(quoted, c, 1);
    }
    cw_text_add(quoted, "'");
}

static void add_command(const struct cw_page_origin *origin, struct cw_text *text) {
    struct cw_text quoted = {0};
    for (size_t i = 0; i < origin->n_arguments; i++) {
        if (i) cw_text_add(&quoted, " ");
        add_argument(origin->arguments[i], &quoted);
    }
    cw_text_add(text, "<pre><code>");
    if (quoted.bytes) cw_markup_add(text, quoted.bytes);
    cw_text_add(text, "</code></pre>\n");
    if (quoted.failed) text->failed = true;
    cw_text_free(&quoted);
}

void cw_page_add_origin(const struct cw_page_origin *origin, struct cw_text *text) {
    cw_text_add(text, "<footer>\n<h2 id=\"origin\">" CW_PAGE_ORIGIN "</h2>\n<p>By coastwise ");
    cw_markup_add(text, origin->version);
    cw_text_add(text, ". The same command on the same files makes the same page again:</p>\n");
    add_command(origin, text);
    cw_text_add(text, "<dl>\n");
    for (size_t i = 0; i < origin->n_inputs; i++) {
        const struct cw_analysis_input *input = &origin->inputs[i];
        cw_text_add(text, "<div><dt>");
        cw_markup_add_name(text, strcmp(input->file, "-") ? input->file : "standard input");
        cw_text_add(text, "</dt><dd class=\"checksum\">");
        if (*input->checksum)
            cw_text_add(text, "SHA-256 %s", input->checksum);
        else
            cw_text_add(text, "no file to take a checksum of");
        cw_text_add(text, "</dd></div>\n");
    }
    cw_text_add(text, "</dl>\n</footer>\n");
}
