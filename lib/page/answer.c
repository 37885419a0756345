#include <stdbool.h>
#include <string.h>

#include "page/parts.h"
#include "report/about.h"
#include "report/answer.h"
#include "report/compare_facts.h"
#include "report/heights.h"
#include "report/markup.h"
#include "report/ride.h"
#include "report/winds.h"

/* So many sentences are set large. Beyond the second number they are no longer read: those with the
 * reference are given. */
enum { LARGE_MOST = 3, SENTENCES_MOST = 15 };

/* Of more outings than these (and one) the others are counted. */
enum { NAMED_MOST = 4 };

static void add_names(const struct cw_analysis *analysis, cw_name_adder name,
                      struct cw_text *text) {
    size_t named = analysis->n > NAMED_MOST + 1 ? NAMED_MOST : analysis->n;
    for (size_t i = 0; i < named; i++) {
        if (i) cw_text_add(text, i + 1 < analysis->n ? ", " : " and ");
        name(text, analysis->outings[i].outing.name);
    }
    if (named < analysis->n) cw_text_add(text, " and %zu more", analysis->n - named);
}

void cw_page_add_title(const struct cw_analysis *analysis, struct cw_text *text) {
    add_names(analysis, cw_markup_add, text);
    cw_text_add(text, analysis->compared && analysis->compare.n_comparisons
                          ? " - coasting runs compared"
                          : " - coasting runs");
}

void cw_page_add_whose(const struct cw_analysis *analysis, size_t outing, struct cw_text *text) {
    if (analysis->n < 2) return;
    cw_text_add(text, "<h3>");
    cw_markup_add_name(text, analysis->outings[outing].outing.name);
    cw_text_add(text, "</h3>\n");
}

void cw_page_add_header(const struct cw_analysis *analysis, struct cw_text *text) {
    cw_text_add(text, "<header>\n<h1>");
    add_names(analysis, cw_markup_add_name, text);
    cw_text_add(text, "</h1>\n");
    cw_text_add(text, "<p class=\"about\">");
    if (analysis->n == 1)
        cw_about_add(&analysis->outings[0], cw_markup_add_name, text);
    else
        cw_about_all_add(analysis, cw_markup_add_name, text); /* each has its line below */
    cw_text_add(text, ".</p>\n");
    cw_text_add(text, "</header>\n");
}

static void add_sentence(const struct cw_compare *compare, size_t i, enum cw_units units,
                         struct cw_text *text) {
    cw_text_add(text, "<li class=\"%s\">",
                cw_verdict_text(cw_answer_verdict(&compare->comparisons[i])));
    cw_answer_add(compare, i, cw_markup_add_name, units, text);
    cw_text_add(text, ".</li>\n");
}

static void add_sentences(const struct cw_compare *compare, enum cw_units units,
                          struct cw_text *text) {
    bool all = compare->n_comparisons <= SENTENCES_MOST;
    cw_text_add(text, "<ul class=\"answers%s\">\n",
                compare->n_comparisons > LARGE_MOST ? " many" : "");
    for (size_t i = 0; i < compare->n_comparisons; i++)
        if (all || compare->comparisons[i].reference == 0) add_sentence(compare, i, units, text);
    cw_text_add(text, "</ul>\n<p class=\"soft\">In brackets: where the truth lies with 95 %% "
                      "confidence. Drag is the drag area CdA.");
    if (!all) cw_text_add(text, " The other pairs are in the <a href=\"#comparisons\">table</a>.");
    cw_text_add(text, " These are estimates, not advice to ride faster.</p>\n");
}

/* The lines that an outing file lacks, as they are to be written. */
static void add_lines(const struct cw_analysed *of, struct cw_text *text) {
    static const struct cw_look look = {.columns = 72, .utf8 = true};
    struct cw_text lines = {0};
    cw_ride_lines_add(of, &look, &lines);
    if (lines.failed) text->failed = true;
    char *line = lines.bytes && !lines.failed ? lines.bytes + strspn(lines.bytes, "\n") : NULL;
    if (line) cw_text_add(text, "<pre>");
    for (size_t length; line && *line; line += length + 1) {
        length = strcspn(line, "\n"); /* each ends in one */
        line[length] = '\0';
        cw_markup_add(text, line);
        cw_text_add(text, "\n");
    }
    if (line) cw_text_add(text, "</pre>\n");
    cw_text_free(&lines);
}

/* Nothing to compare: what there is, and what is missing. */
static void add_alone(const struct cw_page *page, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    struct cw_sentences said = {0};
    if (analysis->compared)
        cw_compare_answers_said(analysis, page->units, &said);
    else
        cw_sentences_add(
            &said, "No run has a setup, so nothing is compared: the setup of each run belongs "
                   "into \"order\" in the outing file");
    if (said.text.failed) text->failed = true;
    cw_text_add(text, "<ul class=\"answers\">\n");
    for (const char *sentence = NULL; (sentence = cw_sentences_next(&said, sentence));) {
        cw_text_add(text, "<li class=\"undecided\" dir=\"auto\">");
        cw_markup_add(text, sentence);
        cw_text_add(text, ".</li>\n");
    }
    cw_text_add(text, "</ul>\n");
    cw_sentences_free(&said);
    for (size_t o = 0; o < analysis->n; o++) add_lines(&analysis->outings[o], text);
}

/* What is said beside the answer of something: the recorder, the wind. */
static void add_beside(const struct cw_analysis *analysis, const char *of,
                       void (*say)(const struct cw_analysis *, struct cw_sentences *),
                       struct cw_text *text) {
    struct cw_sentences said = {0};
    say(analysis, &said);
    if (said.text.failed) text->failed = true;
    for (const char *sentence = NULL; (sentence = cw_sentences_next(&said, sentence));) {
        cw_text_add(text, "<p class=\"soft\" dir=\"auto\">%s: ", of);
        cw_markup_add(text, sentence);
        cw_text_add(text, ".</p>\n");
    }
    cw_sentences_free(&said);
}

static void add_doubts(const struct cw_analysis *analysis, struct cw_text *text) {
    struct cw_sentences doubts = {0};
    cw_compare_doubts(analysis, &doubts);
    if (doubts.n) cw_text_add(text, "<p>Mind:</p>\n");
    cw_page_add_sentences(&doubts, text);
}

void cw_page_add_answer(const struct cw_page *page, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    cw_text_add(text, "<section class=\"answer\" aria-labelledby=\"answer\">"
                      "<h2 id=\"answer\" tabindex=\"-1\">The answer</h2>\n");
    if (analysis->compared && analysis->compare.n_comparisons)
        add_sentences(&analysis->compare, page->units, text);
    else
        add_alone(page, text);
    add_beside(analysis, "What else was known", cw_winds_said, text);
    if (analysis->n == 1) add_beside(analysis, "The recorder", cw_heights_said, text);
    if (analysis->compared) add_doubts(analysis, text);
    cw_text_add(text, "</section>\n");
}
