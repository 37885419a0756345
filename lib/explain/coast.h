/* A run by the model: down the outing's road from the first gate, as fast as it was there. */
#ifndef CW_EXPLAIN_COAST_H
#define CW_EXPLAIN_COAST_H

#include <stdbool.h>

#include "base/error.h"
#include "compare/split.h"
#include "explain/explain.h"
#include "fit/fit.h"

/* The outing's road between the gates, and the wheels that roll on it. */
struct cw_explained_road {
    const struct cw_fit *fit;
    double from_m, to_m; /* first and last gate */
    double dip_m;        /* the lowest place between them, where it goes up again; NaN: none */
    bool rolls_out;      /* metres to standing still are asked for */
    /* Beyond end_m (NaN: nowhere) the slope is taken to be so much of an even one, 0 to 1, and the
     * rest of the profile's, and a run-out is so many times as long as that has it: the last metres
     * hang on the slope at one place, of which the runs' own speeds tell more than the profile
     * (explain/runout.h). */
    double end_m, even, even_slope, stretch;
    double wheel_inertia_kgm2, wheel_radius_m;
};

/* What makes a run, by enum cw_part: kg, m2, Crr, kg/m3, m/s, m/s (+ is a headwind). */
struct cw_explained_state {
    double of[CW_MODEL_PARTS];
};

/* Coasts it: a number a quantity, NaN where the road has none or it is not reached. */
enum cw_status cw_explained_coast(const struct cw_explained_road *road,
                                  const struct cw_explained_state *state,
                                  double quantity[CW_EXPLAINED], struct cw_error *error);

/* Sets dip_m: the lowest place of the profile between the gates, where both the way down to it and
 * up from it are at least 20 m long and half a metre high. */
void cw_explained_find_dip(struct cw_explained_road *road);

#endif
