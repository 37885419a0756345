#include "road/balance.h"

#include <math.h>
#include <stdlib.h>

#define GRAVITY_MS2 9.80665

double cw_balance_loss(const struct cw_runs_options *options, double cda_m2, double crr,
                       double speed_ms) {
    /* Bearings: Martin et al. 1998, J. Appl. Biomech. 14:276, eq. 10. */
    double weight_n = options->mass_kg * GRAVITY_MS2;
    return crr + (0.091 + 0.0087 * speed_ms +
                  0.5 * options->density_kgm3 * cda_m2 * speed_ms * speed_ms) /
                     weight_n;
}

/* Line through head against time over [first, last]. */
static void fit_rate(const double *time_s, const double *head_m, size_t first, size_t last,
                     double *rate_ms, double *spread_s2) {
    double count = (double)(last - first + 1), mean_t = 0.0, mean_e = 0.0, tt = 0.0, te = 0.0;
    for (size_t i = first; i <= last; i++) {
        mean_t += (time_s[i] - time_s[first]) / count;
        mean_e += (head_m[i] - head_m[first]) / count;
    }
    for (size_t i = first; i <= last; i++) {
        double t = time_s[i] - time_s[first] - mean_t;
        tt += t * t;
        te += t * (head_m[i] - head_m[first] - mean_e);
    }
    *rate_ms = te / tt;
    *spread_s2 = tt;
}

static bool joined(const struct cw_motion *motion, const double *head_m, size_t i) {
    return i > 0 && i < motion->n && !motion->gap_before[i] && isfinite(head_m[i]) &&
           isfinite(head_m[i - 1]);
}

enum cw_status cw_balance_make(const struct cw_recording *recording, const struct cw_motion *motion,
                               struct cw_balance *balance, struct cw_error *error) {
    size_t n = motion->n;
    const double *time_s = recording->samples.time_s;
    *balance = (struct cw_balance){.n = n};
    double **columns[] = {&balance->head_m, &balance->rate_ms, &balance->rate_sd_ms,
                          &balance->window_s};
    for (size_t c = 0; c < sizeof columns / sizeof *columns; c++)
        if (!(*columns[c] = malloc((n ? n : 1) * sizeof(double)))) return cw_error_memory(error);
    for (size_t i = 0; i < n; i++)
        balance->head_m[i] =
            motion->height_m[i] + motion->speed_ms[i] * motion->speed_ms[i] / (2.0 * GRAVITY_MS2);

    double half_s = fmin(fmax(3.0 + 10.0 * (motion->elevation_sd_m - 0.1), 3.0), 6.0);
    for (size_t i = 0; i < n; i++) {
        balance->rate_ms[i] = balance->rate_sd_ms[i] = balance->window_s[i] = NAN;
        if (!isfinite(balance->head_m[i])) continue;
        size_t first = i, last = i;
        while (joined(motion, balance->head_m, first) &&
               (time_s[i] - time_s[first - 1] <= half_s || first == i))
            first--;
        while (joined(motion, balance->head_m, last + 1) &&
               (time_s[last + 1] - time_s[i] <= half_s || last == i))
            last++;
        if (last - first < 2) continue;
        double spread_s2, speed = motion->speed_ms[i];
        fit_rate(time_s, balance->head_m, first, last, &balance->rate_ms[i], &spread_s2);
        double speed_part = speed * motion->speed_error_ms[i] / GRAVITY_MS2;
        double variance = motion->elevation_sd_m * motion->elevation_sd_m + speed_part * speed_part;
        /* 1.5 and 0.03: neighbours' errors go together (steps, smoothing, the altimeter's lag). */
        balance->rate_sd_ms[i] = 1.5 * sqrt(variance / spread_s2) + 0.03;
        balance->window_s[i] = time_s[last] - time_s[first];
    }
    return CW_OK;
}

void cw_balance_free(struct cw_balance *balance) {
    free(balance->head_m);
    free(balance->rate_ms);
    free(balance->rate_sd_ms);
    free(balance->window_s);
    *balance = (struct cw_balance){0};
}
