#include "tally.h"

#include <math.h>
#include <stdio.h>

void tally_add(struct tally *tally, double error, double standard_error, bool holds) {
    tally->n++;
    tally->held += holds;
    tally->sum += error;
    tally->sum2 += error * error;
    tally->said2 += standard_error * standard_error;
}

void tally_print(const char *what, const struct tally *tally, double unit) {
    double n = (double)tally->n;
    printf("  %-28s bias %+8.4f  rms %8.4f  (said %8.4f)  holds %5.1f of 100  n %zu\n", what,
           unit * tally->sum / n, unit * sqrt(tally->sum2 / n), unit * sqrt(tally->said2 / n),
           100 * (double)tally->held / n, tally->n);
}

bool tally_inside(const struct cw_estimate *estimate, double truth) {
    return estimate->low <= truth && truth <= estimate->high;
}
