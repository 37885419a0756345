#include "tally.h"

#include <gsl/gsl_cdf.h>
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

/* The largest count that fewer than one in a thousand falls short of. */
static unsigned least_held(unsigned n) {
    unsigned k = n;
    while (k > 0 && gsl_cdf_binomial_P(k - 1, 0.90, n) > 1e-3) k--;
    return k;
}

bool tally_sound(const char *what, const struct tally *tally, size_t outings, double allowance) {
    double n = (double)tally->n, separate = (double)outings;
    double bias = tally->sum / n, spread = sqrt(tally->sum2 / n);
    double bias_limit = 3 * spread / sqrt(separate) + allowance;
    double held = (double)tally->held / n, held_limit = least_held((unsigned)outings) / separate;
    double ratio = sqrt(tally->sum2 / tally->said2);
    double ratio_limit = sqrt(gsl_cdf_chisq_Pinv(0.999, separate) / separate);
    bool sound = fabs(bias) <= bias_limit && held >= held_limit && ratio <= ratio_limit;
    if (!sound)
        printf("NOT SOUND: %s: bias %g (limit %g), %.3f hold (limit %.3f), errors %.2f of what was "
               "said (limit %.2f)\n",
               what, bias, bias_limit, held, held_limit, ratio, ratio_limit);
    return sound;
}

bool tally_inside(const struct cw_estimate *estimate, double truth) {
    return estimate->low <= truth && truth <= estimate->high;
}

bool tally_known(const struct cw_estimate *e) {
    return isfinite(e->value) && isfinite(e->low) && isfinite(e->high);
}

void tally_add_estimate(struct tally *tally, const struct cw_estimate *e, double truth,
                        double scale) {
    if (tally_known(e) && isfinite(truth))
        tally_add(tally, (e->value - truth) / scale, e->standard_error / scale,
                  tally_inside(e, truth));
}
