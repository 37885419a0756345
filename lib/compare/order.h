/* Whether the order of the runs lets a drift over an outing pass for a difference. */
#ifndef CW_COMPARE_ORDER_H
#define CW_COMPARE_ORDER_H

#include <stddef.h>

#include "compare/compare.h"

/* By how many hours the runs of one setup came later, on average, than those of another, over the
 * outings that have both; NaN where they took turns, so that a drift shows little in their
 * difference (time and setup have a correlation below 0.8: AABB has 0.89, AAAABBBB 0.87, ABAB 0.45,
 * ABBA none), where
 * one outing makes up for another, or where no outing has both. */
double cw_order_hours_later(const struct cw_run_among *runs, size_t n, size_t setup,
                            size_t reference);

#endif
