/* Words of the outing file, for tables that are constant themselves. */
#ifndef CW_OUTING_WORDS_H
#define CW_OUTING_WORDS_H

/* Where heights come from, in the order of enum cw_elevation, NULL behind them. */
extern const char *const cw_elevation_words[];

#endif
