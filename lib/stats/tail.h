/* From a chance back to the value that is passed with it. */
#ifndef CW_STATS_TAIL_H
#define CW_STATS_TAIL_H

/* The x >= 0 at which a tail that falls as x grows is down to chance, to the last digits; 0 where
 * it begins below. GSL's own inverses are not used: their search can give up, and their default
 * error handler then ends the program. */
double cw_tail_inverse(double (*tail)(double x, double df), double df, double chance);

#endif
