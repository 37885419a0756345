/* What the model leaves unexplained, and how sure that is. Inside the room only. */
#ifndef CW_EXPLAIN_LEFT_H
#define CW_EXPLAIN_LEFT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"
#include "compare/workings.h"
#include "explain/coast.h"

/* A timed run of a pair. */
struct cw_explained_run {
    size_t timed;    /* index into the timed runs */
    size_t in_table; /* into the comparison's table of runs */
    size_t recording;
    int side;                        /* 0: setup, 1: reference */
    struct cw_explained_state state; /* with its setup's CdA */
    struct cw_estimate speed_ms;     /* at the first gate */
    double wind_error_ms, warmer_k;
    double own_log;              /* its own log CdA less its setup's, and less what its wind did */
    struct cw_estimate measured; /* the quantity; NaN where it has none */
    double weight;               /* in the difference of the means; 0 where it has none */
};

/* The interval of what is left, value, of a quantity. Each run's measured quantity less the model's
 * for its own state is r = e + g own_log, g being how it answers to log CdA. What the e scatter by
 * within the setups is that of times that agree with their runs' own drag. Where fewer than
 * CW_LEFT_DF degrees of freedom tell it, the runs' timing errors, which are rather larger, count as
 * so many more (Smyth 2004, Stat. Appl. Genet. Mol. Biol. 3:3). Own drags have no scatter left
 * where each setup's mean is the mean of its runs; where the comparison weighs them otherwise, by
 * q = a - weight' X' a, with a = what each run counts times g, the variance is q' V q. *told is
 * false where the model does not get a run to the end. */
enum { CW_LEFT_DF = 2 };
enum cw_status cw_explain_left(const struct cw_explained_road *road,
                               const struct cw_compare_workings *workings,
                               const struct cw_explained_run *runs, size_t n,
                               enum cw_explained_quantity quantity, double value,
                               struct cw_estimate *left, bool *told, struct cw_error *error);

#endif
