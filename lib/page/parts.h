/* The parts of the page; page.c has their order. Inside the room only. */
#ifndef CW_PAGE_PARTS_H
#define CW_PAGE_PARTS_H

#include <stddef.h>

#include "analysis/analysis.h"
#include "base/text.h"
#include "page/page.h"
#include "report/sentences.h"
#include "report/table.h"

/* What a page is of, and the units that its tables, sentences and pictures are in. */
struct cw_page {
    const struct cw_analysis *analysis;
    enum cw_units units;
};

/* answer.c: whose page it is, and what it says. */
void cw_page_add_title(const struct cw_analysis *analysis, struct cw_text *text);
void cw_page_add_header(const struct cw_analysis *analysis, struct cw_text *text);
void cw_page_add_answer(const struct cw_page *page, struct cw_text *text);

/* ridden.c: what was ridden: who and what, how it rolled, in which air. */
void cw_page_add_ridden(const struct cw_page *page, size_t outing, struct cw_text *text);

/* tables.c: numbers, which are also the pictures' table alternatives. */
void cw_page_add_setups(const struct cw_page *page, struct cw_text *text);
void cw_page_add_history(const struct cw_page *page, struct cw_text *text);
void cw_page_add_comparisons(const struct cw_page *page, struct cw_text *text);
void cw_page_add_runs(const struct cw_page *page, size_t outing, struct cw_text *text);
void cw_page_add_timed(const struct cw_page *page, size_t outing, struct cw_text *text);
void cw_page_add_explained(const struct cw_page *page, size_t outing, struct cw_text *text);
void cw_page_add_budget(const struct cw_page *page, struct cw_text *text);
void cw_page_add_noise(const struct cw_page *page, size_t outing, struct cw_text *text);

/* notes.c: what is said in words. */
void cw_page_add_untold(const struct cw_page *page, struct cw_text *text);
void cw_page_add_defaults(const struct cw_analysis *analysis, size_t outing, struct cw_text *text);
void cw_page_add_warnings(const struct cw_analysis *analysis, size_t outing, struct cw_text *text);
void cw_page_add_method(const struct cw_page *page, struct cw_text *text);
void cw_page_add_next(const struct cw_page *page, struct cw_text *text);
void cw_page_add_care(const struct cw_page *page, struct cw_text *text);
#define CW_PAGE_ORIGIN "How this page was made"
void cw_page_add_origin(const struct cw_page_origin *origin, struct cw_text *text);

/* units.c: the page's sentences in the units that it is read in, and these beside their numbers.
 * Cells of tables and pictures have theirs already, names have none. */
void cw_page_say_units(struct cw_text *page, enum cw_units units);
/* Adds a part so; frees it. */
void cw_page_take_units(struct cw_text *part, enum cw_units units, struct cw_text *text);

/* The table, freed: id with the outing's number makes its id; runs as in html_table.h, or NULL. */
void cw_page_add_table(struct cw_table *table, const char *id, size_t outing, const char *caption,
                       const char *const *runs, struct cw_text *text);

/* A list of the sentences, nothing where there are none; frees them. */
void cw_page_add_sentences(struct cw_sentences *sentences, struct cw_text *text);

/* "<h3>" and the outing's name where there are several; they tell whose the following is. */
void cw_page_add_whose(const struct cw_analysis *analysis, size_t outing, struct cw_text *text);

#endif
