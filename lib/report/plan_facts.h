/* A plan in sentences and cells: once for tables, JSON, sheets. Inside the library only. */
#ifndef CW_REPORT_PLAN_FACTS_H
#define CW_REPORT_PLAN_FACTS_H

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

/* "fast", "steep", "no brakes": of a single bit; constants. */
const char *cw_plan_danger_text(enum cw_plan_danger danger);

const char *cw_plan_setup(const struct cw_plan *plan, size_t setup);

#endif
