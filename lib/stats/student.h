/* Student's t: quantiles for intervals, and chances. */
#ifndef CW_STATS_STUDENT_H
#define CW_STATS_STUDENT_H

#include "base/public.h"

CW_PUBLIC_BEGIN

/* Quantile of Student's t: the value not passed with the given probability (0 to 1); df at least 1,
 * for less says nothing of an interval. cw_t_p_value: the chance, with no true difference, of a t
 * at least as far from 0, on either side; df above 0. An infinite df gives the normal distribution.
 * NaN for a df or probability that is not in range. */
double cw_t_quantile(double probability, double df);
double cw_t_p_value(double t, double df);

CW_PUBLIC_END

#endif
