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
 * for its own state, with its setup's CdA, is r = a + g w, a being chance and g w what the run's
 * own drag (a gust, another posture) does by g. The run's own log CdA beside its setup's, y, is
 * partly w and partly the recorder's error, which moves no time; nobody but the runs tells how much
 * of it is which: k, the slope of r on g y within the setups, between 0 and 1 (of few runs, 0 or 1,
 * whichever leaves less). What e = r - k g y scatter by is what is left's error. To that comes the
 * error of the setups' CdA as far as it is not the runs' own drag, (1 - k) drag_error, the standard
 * error of the part that drag has; and, where the comparison weighs runs otherwise than the mean
 * does, k^2 times the squares of q y, run by run, q = c g - weight' X' c g, c being what each run
 * counts. Where fewer
 * than CW_LEFT_DF degrees of freedom tell the scatter, the runs' timing errors, which are rather
 * larger, count as so many more (Smyth 2004, Stat. Appl. Genet. Mol. Biol. 3:3). *told is false
 * where the model does not get a run to the end. */
enum { CW_LEFT_DF = 2 };
enum cw_status cw_explain_left(const struct cw_explained_road *road,
                               const struct cw_compare_workings *workings,
                               const struct cw_explained_run *runs, size_t n,
                               enum cw_explained_quantity quantity, double value, double drag_error,
                               struct cw_estimate *left, bool *told, struct cw_error *error);

#endif
