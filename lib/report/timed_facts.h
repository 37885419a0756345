/* What the reports of times as measured have in common. Inside the library only. */
#ifndef CW_REPORT_TIMED_FACTS_H
#define CW_REPORT_TIMED_FACTS_H

#include <stdbool.h>
#include <stddef.h>

#include "analysis/analysis.h"
#include "report/sentences.h"
#include "report/table.h"

/* How people read a quantity as measured: its value x factor, in unit. */
struct cw_timed_shown {
    const char *name, *unit;
    double factor;
    int decimals;
};
struct cw_timed_shown cw_timed_shown_as(enum cw_timed_quantity quantity);

/* Whether any run has it, be it doubted. */
bool cw_timed_has(const struct cw_timed *timed, enum cw_timed_quantity quantity);

/* The runs' columns (the table's are these) and rows: run, setup, time by stopwatch where there is
 * one, at each gate, over all of them, entry and exit speed, run-out by tape and by the recorder
 * where there is one. A doubted value has a "?". */
struct cw_timed_columns {
    char heads[CW_GATES_MAX][32];
    struct cw_column at[CW_GATES_MAX + 11];
};
void cw_timed_runs_add(const struct cw_analysed *of, const char *plus_minus,
                       struct cw_timed_columns *columns, struct cw_table *table);

/* What was noted beside the recorder, and what its columns mean. */
void cw_timed_noted_said(const struct cw_analysed *of, struct cw_sentences *sentences);
/* Noted values that the recorder gives the lie, and what to do about each. */
void cw_timed_doubts(const struct cw_analysed *of, struct cw_sentences *sentences);

/* Columns and rows of the differences: setup, reference, what and its unit, difference, low, high,
 * judgement; with `all`, before that, percent, p and test. */
enum { CW_TIMED_DIFFERENCE_COLUMNS = 10 };
void cw_timed_differences_add(const struct cw_analysed *of, bool all, struct cw_column *columns,
                              struct cw_table *table);

/* What a level road's runs are judged by, in pairs or one by one: the steps' columns and rows. */
enum { CW_TIMED_STEP_COLUMNS = 8 };
extern const struct cw_column cw_timed_step_columns[2][CW_TIMED_STEP_COLUMNS]; /* [pairs] */
void cw_timed_steps_add(const struct cw_analysed *of, struct cw_table *table);

#endif
