/* What is said in words about a comparison, for all its reports. Inside the room only. */
#ifndef CW_REPORT_COMPARE_FACTS_H
#define CW_REPORT_COMPARE_FACTS_H

#include "report/compare_report.h"
#include "report/estimates.h"
#include "report/sentences.h"
#include "report/table.h"

/* A setup compared, as the cells of a row; whose it is, if whose. */
#define CW_SETUP_COLUMNS(m2, plus_minus)                                                           \
    {"setup", "", false}, {"runs", "", true}, {"outings", "", true}, {"load", "kg", true},         \
        CW_ESTIMATE_COLUMNS("CdA", m2, plus_minus)
/* A setup's name, and whose it is where it is a companion's: "friend (companion)". */
void cw_setup_name_add(struct cw_text *text, const struct cw_setup_result *setup);
void cw_setup_cells_add(struct cw_table *table, const struct cw_setup_result *setup, bool whose);

/* "less drag", "more drag", "not decided". */
const char *cw_verdict_words(enum cw_verdict verdict);

/* The number that `coastwise runs` prints of a run. */
long cw_among_number(const struct cw_analysis *analysis, const struct cw_run_among *run);

/* Each adds sentences of its kind. */
void cw_compare_answers_said(const struct cw_analysis *analysis, enum cw_units units,
                             struct cw_sentences *sentences); /* the comparisons, in order */
/* Runs that stand out, and how the others scatter; the scatter alone. */
void cw_compare_runs_said(const struct cw_analysis *analysis, struct cw_sentences *sentences);
void cw_compare_scatter_said(const struct cw_analysis *analysis, struct cw_sentences *sentences);
void cw_compare_limits(const struct cw_analysis *analysis, struct cw_sentences *sentences);
void cw_compare_defaults(const struct cw_analysis *analysis, struct cw_sentences *sentences);
/* The same, what all outings take for granted said once. */
void cw_compare_defaults_once(const struct cw_analysis *analysis, struct cw_sentences *sentences);
/* Where trust in the answer would be misplaced: warnings have these too. */
void cw_compare_doubts(const struct cw_analysis *analysis, struct cw_sentences *sentences);
/* What could change the answer, with runs that stand out and these doubts; and what could not. */
void cw_compare_weighs(const struct cw_analysis *analysis, struct cw_sentences *sentences);
void cw_compare_notes(const struct cw_analysis *analysis, struct cw_sentences *sentences);
void cw_compare_warnings(const struct cw_analysis *analysis, struct cw_sentences *sentences);

#endif
