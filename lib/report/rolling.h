/* Rolling beside drag, in words and as a table: for terminal and page. Inside these rooms only. */
#ifndef CW_REPORT_ROLLING_H
#define CW_REPORT_ROLLING_H

#include <stdbool.h>

#include "compare/compare.h"
#include "report/answer.h"
#include "report/sentences.h"
#include "report/table.h"

/* Whether any two setups on different tyres were compared. */
bool cw_rolling_any(const struct cw_compare *compare);

/* What comparison i of setups on different tyres says (report/answer.h). */
void cw_rolling_answer_add(const struct cw_compare *compare, size_t i, cw_name_adder name,
                           enum cw_units units, struct cw_text *text);

/* "rolls better", "rolls worse", "not decided". */
const char *cw_rolling_words(enum cw_verdict verdict);

/* A row for each such comparison. */
#define CW_ROLLING_COLUMNS                                                                         \
    {"setup", "", false}, {"against", "", false}, {"Crr", "", true}, {"95 % from", "", true},      \
        {"to", "", true}, {"Crr", "%", true}, {"p", "", true}, {"adjusted", "", true},             \
        {"would show", "", true}, {                                                                \
        "verdict", "", false                                                                       \
    }
void cw_rolling_rows_add(const struct cw_compare *compare, struct cw_table *table);

/* The forces at speeds that are round in these units: CW_FORCES of them. */
const struct cw_force *cw_forces_read(const struct cw_comparison *comparison, enum cw_units units);
/* That of the sum's test: "30 km/h" or "20 mph". */
const char *cw_sum_text(enum cw_units units);
/* The fastest, "40 km/h" or "25 mph", and the power at it. */
const char *cw_fast_text(enum cw_units units);
struct cw_estimate cw_fast_watts(const struct cw_comparison *comparison, enum cw_units units);

/* Force and power of drag and rolling together at each speed, a row for each. */
#define CW_FORCE_COLUMNS                                                                           \
    {"setup", "", false}, {"against", "", false}, {"at", "km/h", true}, {"force", "N", true},      \
        {"95 % from", "N", true}, {"to", "N", true}, {"power", "W", true},                         \
        {"95 % from", "W", true}, {                                                                \
        "to", "W", true                                                                            \
    }
void cw_force_rows_add(const struct cw_compare *compare, struct cw_table *table);

/* What it would bring to say that drag is the same, where it is not said. */
void cw_rolling_limits(const struct cw_compare *compare, struct cw_sentences *sentences);

#endif
