/* Explanations as rows and sentences, once for terminal, page and JSON. */
#ifndef CW_REPORT_EXPLAIN_FACTS_H
#define CW_REPORT_EXPLAIN_FACTS_H

#include <stdbool.h>

#include "analysis/analysis.h"
#include "report/sentences.h"
#include "report/table.h"

/* "air_density": a cause as JSON and CSV have it; a constant. */
const char *cw_part_key(enum cw_part part);
/* "time_s", "down_s", "far_s", "runout_m"; constants. */
const char *cw_explained_key(enum cw_explained_quantity quantity);

/* A table of causes: what was what, and what it made of one or two quantities. */
enum { CW_EXPLAIN_COLUMNS_MOST = 9 };
struct cw_explain_columns {
    struct cw_column at[CW_EXPLAIN_COLUMNS_MOST];
};
/* Sets columns and adds a row a cause and the measured whole. Of time and run-out, with what setup
 * and reference were like; or of the way down and the far side of a dip. */
void cw_explain_rows_add(const struct cw_explanation *explanation, bool halves,
                         struct cw_explain_columns *columns, struct cw_table *table);
/* Whether there is anything to say of the halves. */
bool cw_explain_has_halves(const struct cw_explanation *explanation);

/* "water against bare, timed from 12 to 930 m". */
void cw_explain_head_add(const struct cw_analysis *analysis,
                         const struct cw_explanation *explanation, struct cw_text *text);
/* What a pair's numbers say: the whole, where it is from, what is left, the far side of a dip, a
 * run-out that goes against the load. */
void cw_explain_said(const struct cw_analysis *analysis, const struct cw_explanation *explanation,
                     enum cw_units units, struct cw_sentences *sentences);
/* How it is divided. */
void cw_explain_method_said(struct cw_sentences *sentences);

#endif
