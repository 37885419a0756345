/* What each cause does of the way from one state to another. Inside the room only. */
#ifndef CW_EXPLAIN_SHARE_H
#define CW_EXPLAIN_SHARE_H

#include "base/error.h"
#include "explain/coast.h"

struct cw_shares {
    /* Of each cause and quantity: its part of the difference, setup - reference, and what a unit of
     * it does half way. NaN where a state does not get so far. */
    double part[CW_MODEL_PARTS][CW_EXPLAINED];
    double slope[CW_MODEL_PARTS][CW_EXPLAINED];
    /* What a unit of CdA, and of Crr, changes of these slopes. */
    double by_drag[CW_MODEL_PARTS][CW_EXPLAINED], by_rolling[CW_MODEL_PARTS][CW_EXPLAINED];
};

/* Sums of the parts are the whole difference to a few ten-thousandths of it: the integral is
 * Gauss's of two points, the slopes are of central differences. */
enum cw_status cw_shares_make(const struct cw_explained_road *road,
                              const struct cw_explained_state *setup,
                              const struct cw_explained_state *reference, struct cw_shares *shares,
                              struct cw_error *error);

#endif
