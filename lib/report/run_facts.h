/* What the reports of runs found have in common. Inside the library only. */
#ifndef CW_REPORT_RUN_FACTS_H
#define CW_REPORT_RUN_FACTS_H

#include "base/text.h"
#include "report/table.h"
#include "runs/runs.h"

/* A run as cells of a row: how long and how deep, and how fast. */
#define CW_RUN_EXTENT_COLUMNS                                                                      \
    {"time", "s", true}, {"length", "m", true}, {                                                  \
        "drop", "m", true                                                                          \
    }
#define CW_RUN_SPEED_COLUMNS                                                                       \
    {"entry", "km/h", true}, {"top", "km/h", true}, {"exit", "km/h", true}, {                      \
        "ends in", "", false                                                                       \
    }
void cw_run_extent_add(struct cw_table *table, const struct cw_run *run);
void cw_run_speeds_add(struct cw_table *table, const struct cw_run *run);

/* The texts of a set of cw_run_reason bits, with separator between them. */
void cw_reasons_add(struct cw_text *text, unsigned reasons, const char *separator);
/* The same, with commas, as a cell. */
void cw_table_add_reasons(struct cw_table *table, unsigned reasons);

#endif
