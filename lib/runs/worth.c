#include "runs/worth.h"

#include <math.h>

/* How well the other one of the two is known. */
#define CRR_SD 0.001
#define CDA_SD 0.2
/* A sample counts for no more than this time: what lies between is not seen. */
#define MOST_WEIGHT_S 6.0

double cw_worth_doubt(const struct cw_told *told, const struct cw_runs_options *options,
                      size_t first, size_t last) {
    const struct cw_motion *motion = told->motion;
    const double *time_s = told->recording->samples.time_s;
    double lasts_s = time_s[last] - time_s[first];
    double w = 0, k1 = 0, x1 = 0, kk = 0, kx = 0, xx = 0, air = 0;
    for (size_t i = first; i <= last; i++) {
        double dt = 1.0, x = motion->distance_m[i] - motion->distance_m[first];
        if (i > first) {
            double mean_ms = 0.5 * (motion->speed_ms[i] + motion->speed_ms[i - 1]);
            struct cw_loss loss = cw_balance_loss(options, mean_ms);
            air += loss.drag * (motion->distance_m[i] - motion->distance_m[i - 1]);
            dt = time_s[i] - time_s[i - 1];
        }
        double weight = fmin(dt, MOST_WEIGHT_S) / cw_balance_density(told->balance, i, lasts_s);
        if (!isfinite(weight)) continue;
        /* In parts of CdA and of Crr: what each takes of the head. */
        double k = told->cda_m2 * air, r = sqrt(options->crr_low * options->crr_high) * x;
        w += weight;
        k1 += weight * k;
        x1 += weight * r;
        kk += weight * k * k;
        kx += weight * k * r;
        xx += weight * r * r;
    }
    double crr_sd = CRR_SD / sqrt(options->crr_low * options->crr_high);
    kk -= k1 * k1 / w;
    kx -= k1 * x1 / w;
    xx -= x1 * x1 / w;
    double of_cda = kk - kx * kx / (xx + 1.0 / (crr_sd * crr_sd));
    double of_crr = xx - kx * kx / (kk + 1.0 / (CDA_SD * CDA_SD));
    double most = fmax(of_cda, of_crr);
    return most > 0.0 ? 1.0 / sqrt(most) : INFINITY;
}
