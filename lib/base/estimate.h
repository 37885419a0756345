/* An estimated number, the way every result carries it. */
#ifndef CW_BASE_ESTIMATE_H
#define CW_BASE_ESTIMATE_H

#include "base/public.h"

CW_PUBLIC_BEGIN

struct cw_estimate {
    double value;
    double standard_error;
    double low; /* 95 % interval */
    double high;
    /* The noise's share of the standard error, without what shifts all values of one outing alike:
     * for those who compare such values. 0 where the two are not parted. */
    double noise_standard_error;
};

/* value ± quantile × standard_error, quantile being Student's t at 97.5 %. */
static inline struct cw_estimate cw_estimate_make(double value, double standard_error,
                                                  double quantile) {
    struct cw_estimate estimate = {value, standard_error, value - quantile * standard_error,
                                   value + quantile * standard_error, 0};
    return estimate;
}

CW_PUBLIC_END

#endif
