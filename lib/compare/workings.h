/* How a comparison was worked out: what explanations are made from. Not public. */
#ifndef CW_COMPARE_WORKINGS_H
#define CW_COMPARE_WORKINGS_H

#include <stddef.h>

#include "compare/rolling.h"
#include "compare/run_model.h"
#include "compare/run_table.h"

/* Its parts point into each other, so it stays where it is. */
struct cw_compare_workings {
    const struct cw_fit **fits; /* in the order ridden; the list owned, the fits borrowed */
    size_t n;
    struct cw_table_of_runs table; /* its runs' outings are numbers in fits */
    struct cw_run_model model;
    struct cw_rolling rolling;
    double level;
};

/* NULL is freed too. */
void cw_compare_workings_free(struct cw_compare_workings *workings);

#endif
