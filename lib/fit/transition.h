/* Products with a transition, of which only the terms are multiplied out (fit/markov.h). For
 * CW_WIDE functions, whose clones they become part of. */
#ifndef CW_FIT_TRANSITION_H
#define CW_FIT_TRANSITION_H

#include <stddef.h>

#include "base/wide.h"
#include "fit/markov.h"

/* to = T from, or T from + plus where that is not NULL: a row for each state, `stride` apart, of
 * `width` numbers, in fours. to may be from. */
static inline void cw_transition_on(const double transition[CW_STATES][CW_STATES],
                                    const double *from, const double *plus, double *to,
                                    size_t stride, size_t width) {
    for (size_t c = 0; c < width; c += CW_FOUR) {
        cw_four sum[CW_STATES] = {{0}};
        for (size_t k = 0; plus && k < CW_STATES; k++)
            sum[k] = *(const cw_four *)(plus + k * stride + c);
#define CW_ADD(row, column)                                                                        \
    sum[CW_STATE_##row] += transition[CW_STATE_##row][CW_STATE_##column] *                         \
                           *(const cw_four *)(from + CW_STATE_##column * stride + c);
        CW_MARKOV_TERMS(CW_ADD)
#undef CW_ADD
        for (size_t k = 0; k < CW_STATES; k++) *(cw_four *)(to + k * stride + c) = sum[k];
    }
}

/* to = T' from. */
static inline void cw_transition_back(const double transition[CW_STATES][CW_STATES],
                                      const double *from, double *to, size_t stride, size_t width) {
    for (size_t c = 0; c < width; c += CW_FOUR) {
        cw_four sum[CW_STATES] = {{0}};
#define CW_ADD(row, column)                                                                        \
    sum[CW_STATE_##column] += transition[CW_STATE_##row][CW_STATE_##column] *                      \
                              *(const cw_four *)(from + CW_STATE_##row * stride + c);
        CW_MARKOV_TERMS(CW_ADD)
#undef CW_ADD
        for (size_t k = 0; k < CW_STATES; k++) *(cw_four *)(to + k * stride + c) = sum[k];
    }
}

/* to = from', where both are rows of whole fours. */
static inline void cw_transition_turn(double from[CW_STATES][CW_STATES_SIDE],
                                      double to[CW_STATES][CW_STATES_SIDE]) {
    for (size_t i = 0; i < CW_STATES; i++)
        for (size_t j = 0; j < CW_STATES; j++) to[j][i] = from[i][j];
}

#endif
