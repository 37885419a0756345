/* Errors counted over many outings. */
#ifndef CW_STUDY_TALLY_H
#define CW_STUDY_TALLY_H

#include <stdbool.h>
#include <stddef.h>

#include "base/estimate.h"

struct tally {
    size_t n, held;
    double sum, sum2, said2;
};

void tally_add(struct tally *tally, double error, double standard_error, bool holds);
/* A line: bias, root mean square, the error that was said, and how many intervals hold the truth;
 * numbers in units of 1/unit. */
void tally_print(const char *what, const struct tally *tally, double unit);
bool tally_inside(const struct cw_estimate *estimate, double truth);

#endif
