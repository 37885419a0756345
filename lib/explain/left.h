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
 * own drag w (a breath of wind, another posture) does by g. Of w its own log CdA, y = w + noise,
 * tells the part k = W / (W + N), by the variances that the comparison has of both; what e = r - g
 * k y scatter by within the setups is the variance of a and of g^2 h, h = W N / (W + N). Where
 * fewer than CW_LEFT_DF degrees of freedom tell it, the runs' timing errors, which are rather
 * larger, count as so many more (Smyth 2004, Stat. Appl. Genet. Mol. Biol. 3:3).
 *
 * The setups' own CdA have errors too. With c what each run counts in the difference, a = c g, and
 * the comparison's weights, d = weight' X' a, what is left has in it (a - d)' w - d' noise; as far
 * as the variance of that is more than the sum of the c^2 g^2 h that is there already, it is added.
 * *told is false where the model does not get a run to the end. */
enum { CW_LEFT_DF = 2 };
enum cw_status cw_explain_left(const struct cw_explained_road *road,
                               const struct cw_compare_workings *workings,
                               const struct cw_explained_run *runs, size_t n,
                               enum cw_explained_quantity quantity, double value,
                               struct cw_estimate *left, bool *told, struct cw_error *error);

#endif
