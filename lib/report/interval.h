/* Estimates as text: as many digits as their errors justify, and intervals drawn as lines of
 * characters on a common scale. */
#ifndef CW_REPORT_INTERVAL_H
#define CW_REPORT_INTERVAL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/estimate.h"
#include "base/text.h"

/* Decimals that show standard_error with two digits (0..6); 3 where it is 0 or not finite. */
int cw_error_decimals(double standard_error);

struct cw_scale {
    double low, high;
    int decimals; /* that show both ends as they are */
};

/* The scale that n intervals share: both ends are round numbers that take all in. What is not
 * finite does not count; low and high are NaN when nothing does. */
struct cw_scale cw_scale_make(const struct cw_estimate *estimates, size_t n);

/* Adds both ends, width columns apart: "0.40      0.50". */
void cw_scale_add(const struct cw_scale *scale, size_t width, struct cw_text *text);

/* Adds the interval as a line with a mark at the value, "  |---o----|", up to width columns of the
 * scale; blanks at its end are left out. Nothing for what is not finite. */
void cw_interval_add(const struct cw_scale *scale, struct cw_estimate estimate, size_t width,
                     bool utf8, struct cw_text *text);

#endif
