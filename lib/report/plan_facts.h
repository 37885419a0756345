/* A plan in sentences and cells: once for tables, JSON, sheets. Inside the library only. */
#ifndef CW_REPORT_PLAN_FACTS_H
#define CW_REPORT_PLAN_FACTS_H

#include "base/text.h"
#include "plan/plan.h"
#include "report/sentences.h"
#include "report/table.h"

/* Top speed, stopping distance and what is to be minded; first of all where the road is not to be
 * ridden so. */
void cw_plan_cautions(const struct cw_plan *plan, struct cw_sentences *sentences);
/* How many runs find the difference, and what so many promise. */
void cw_plan_answers(const struct cw_plan *plan, struct cw_sentences *sentences);
/* What the road and the day let be told. */
void cw_plan_advice(const struct cw_plan *plan, struct cw_sentences *sentences);
/* What was taken for granted. */
void cw_plan_defaults(const struct cw_plan *plan, struct cw_sentences *sentences);

/* The road and the rider, in a sentence each. m2: how square metres are shown. */
void cw_plan_head_add(const struct cw_plan *plan, const char *m2, struct cw_text *text);
/* Its tables, one after the other, each with what it is in words; it lasts as long as the call. */
typedef void cw_plan_table_taker(void *taker, const char *title, const struct cw_table *table);
void cw_plan_tables(const struct cw_plan *plan, enum cw_units units, cw_plan_table_taker *take,
                    void *taker);

/* "fast", "steep", "no brakes": of a single bit; constants. */
const char *cw_plan_danger_text(enum cw_plan_danger danger);

const char *cw_plan_setup(const struct cw_plan *plan, size_t setup);

#endif
