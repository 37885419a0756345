/* In which order setups take turns. */
#ifndef CW_PLAN_TURNS_H
#define CW_PLAN_TURNS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* So many runs of each setup in an order that a drift over the outing cannot pass for a difference:
 * one setup, or two by ABBA, where nothing is drawn; of more each block holds all once, drawn by
 * the seed, and every second block is the one before it backwards. order: n_setups x runs. *drawn:
 * whether the seed counts. */
enum cw_status cw_plan_turns(size_t n_setups, size_t runs, unsigned long seed, size_t *order,
                             bool *drawn, struct cw_error *error);

#endif
