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
/* Whether the tally is as it should be, for a test on few outings; says so where it is not. Limits
 * are those that a sound estimate passes by chance in all but about one case of a thousand:
 * - bias within three standard errors of the mean, and allowance (same unit as the errors) more;
 * - intervals that hold: no fewer than the 0.1 % quantile of the binomial at 90 of 100, which the
 *   nominal 95 may come down to;
 * - the errors' mean square no more than the 99.9 % quantile of chi-square allows over what was
 *   said.
 * Errors within one outing hang together, so outings, not errors, are what is counted as separate;
 * where there are several an outing the limits are wider than need be. */
bool tally_sound(const char *what, const struct tally *tally, size_t outings, double allowance);
bool tally_known(const struct cw_estimate *estimate);
/* An estimate and its truth, both over scale; nothing where either is not known. */
void tally_add_estimate(struct tally *tally, const struct cw_estimate *estimate, double truth,
                        double scale);
bool tally_inside(const struct cw_estimate *estimate, double truth);

#endif
