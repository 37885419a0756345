/* Words of a made-up outing's options, for tables that are constant themselves; NULL behind them.
 */
#ifndef CW_SIMULATE_WORDS_H
#define CW_SIMULATE_WORDS_H

#include <stddef.h>

/* What measures speed, in the order of enum cw_simulate_speed. */
extern const char *const cw_simulate_speed_words[];

/* The i-th road that has a name, from 0; NULL behind the last. */
const char *cw_simulate_road_word(size_t i);

#endif
