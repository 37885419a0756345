/* The interval of a ratio of two estimates that err together. */
#ifndef CW_STATS_RATIO_H
#define CW_STATS_RATIO_H

#include "base/estimate.h"

/* above / below with Fieller's interval (Fieller 1954, J. R. Stat. Soc. B 16:175): all r for which
 * above - r below is within quantile of its standard errors of 0. Their errors have a correlation;
 * the standard error given is that of the delta method. All NaN where below is not told from 0 by
 * quantile of its errors, for then no interval ends. */
struct cw_estimate cw_ratio(double above, double above_se, double below, double below_se,
                            double correlation, double quantile);

#endif
