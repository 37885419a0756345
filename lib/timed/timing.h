/* Times as measured: the mean of repeated coasts and how well it is known, no model behind it. */
#ifndef CW_TIMED_TIMING_H
#define CW_TIMED_TIMING_H

#include <stddef.h>

#include "base/error.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

/* One time for a pair of coasts in opposite directions: their harmonic mean 2 / (1/a + 1/b), which
 * averages decelerations, not times (UN GTR No. 15, Annex 4). Seconds above 0; else NaN. */
double cw_timing_pair(double there_s, double back_s);

/* h = t(0.975, n - 1), the factor of the coast-down standards for n times; NaN for n below 2.
 * The standards print it to one decimal; a copy that prints 2.2 for n = 10 is
 * wrong, as its own h/sqrt(n) of 0.73 shows. The quantile itself is used here. */
double cw_timing_factor(size_t n);

struct cw_timing {
    size_t n;
    double mean_s;    /* harmonic */
    double sd_s;      /* about mean_s, over n - 1 */
    double precision; /* p = h sd / (sqrt(n) mean), a fraction: half the 95 % interval */
};

/* Statistical precision of the mean of n times (GTR 15, Annex 4, from memory: enough where p is at
 * most 0.030; R83 asks for 0.020). Times in seconds above 0, each of a run or of a pair. CW_E_DATA
 * below two times; CW_E_ARGUMENT for a time that is not above 0. *timing is all NaN then. Equal
 * times give an sd and a precision of 0, or of the size of rounding: what they do not show, such as
 * the step of the clock, is not in p. */
enum cw_status cw_timing_mean(size_t n, const double *time_s, struct cw_timing *timing,
                              struct cw_error *error);

CW_PUBLIC_END

#endif
