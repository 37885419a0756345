#include "road/modes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CHANGE_COST 5.0
/* Below this speed a coast, a hand on the brake and a foot on the ground look alike. */
#define BLIND_SPEED_MS 1.0
#define MOST_POWER_W 500.0
#define MOST_BRAKE_PER_M 0.4 /* head lost a metre in a hard stop, 0.4 g */
/* Votes of the columns, in log likelihood a second. */
#define TURNING_VOTE 6.0
#define STILL_VOTE 0.7

static double normal_below(double z) {
    return 0.5 * erfc(-z * 0.70710678118654752);
}

/* Log density at x of a value spread evenly over [low, high] and measured with an error of sd. The
 * floor keeps one impossible sample from deciding over everything around it. */
static double even_density(double x, double low, double high, double sd) {
    double width = fmax(high - low, 1e-3 * sd);
    double density = (normal_below((x - low) / sd) - normal_below((x - low - width) / sd)) / width;
    return log(fmax(density, 1e-12));
}

static void vote(const struct cw_motion *motion, const struct cw_balance *balance, size_t i,
                 const struct cw_runs_options *options, const struct cw_band *band,
                 double votes[CW_MODES]) {
    double v = motion->speed_ms[i], x = balance->rate_ms[i], sd = balance->rate_sd_ms[i];
    votes[CW_MODE_COAST] = votes[CW_MODE_PEDAL] = votes[CW_MODE_BRAKE] = 0.0;
    if (!(v >= BLIND_SPEED_MS) || !isfinite(x)) return;
    double low = v * cw_balance_loss(options, band->cda_low_m2, band->crr_low, v);
    double high = v * cw_balance_loss(options, band->cda_high_m2, band->crr_high, v);
    double middle = sqrt(low * high);
    double power = MOST_POWER_W / (options->mass_kg * 9.80665);
    votes[CW_MODE_COAST] = even_density(x, -high, -low, sd);
    votes[CW_MODE_PEDAL] = even_density(x, -middle, -low + power, sd);
    votes[CW_MODE_BRAKE] = even_density(x, -high - MOST_BRAKE_PER_M * v, -middle, sd);
}

enum cw_status cw_modes_find(const struct cw_recording *recording, const struct cw_motion *motion,
                             const struct cw_balance *balance, const enum cw_pedalling *pedalling,
                             const struct cw_runs_options *options, const struct cw_band *band,
                             enum cw_mode *mode, struct cw_error *error) {
    size_t n = motion->n;
    const double *time_s = recording->samples.time_s;
    unsigned char(*from)[CW_MODES] = malloc((n ? n : 1) * sizeof *from);
    if (!from) return cw_error_memory(error);
    double score[CW_MODES] = {0};
    for (size_t i = 0; i < n; i++) {
        double next[CW_MODES];
        bool starts = i == 0 || motion->gap_before[i];
        int best = 0;
        for (int m = 1; m < CW_MODES; m++)
            if (score[m] > score[best]) best = m;
        /* After a gap any mode is as good; the path before it ends in its own best. */
        double cost = starts ? 0.0 : CHANGE_COST;
        for (int m = 0; m < CW_MODES; m++) {
            bool stays = score[m] >= score[best] - cost;
            from[i][m] = (unsigned char)(stays && !starts ? m : best);
            next[m] = stays && !starts ? score[m] : score[best] - cost;
        }
        double before = starts ? 1.0 : time_s[i] - time_s[i - 1];
        double after = i + 1 < n && !motion->gap_before[i + 1] ? time_s[i + 1] - time_s[i] : before;
        double dt = 0.5 * (before + after), votes[CW_MODES];
        vote(motion, balance, i, options, band, votes);
        double weight = isfinite(balance->window_s[i]) ? fmin(1.0, dt / balance->window_s[i]) : 0.0;
        for (int m = 0; m < CW_MODES; m++) next[m] += weight * votes[m];
        if (pedalling[i] == CW_PEDALLING_YES) {
            next[CW_MODE_COAST] -= TURNING_VOTE * before;
            next[CW_MODE_BRAKE] -= TURNING_VOTE * before;
        } else if (pedalling[i] == CW_PEDALLING_NO) {
            next[CW_MODE_PEDAL] -= STILL_VOTE * before;
        }
        memcpy(score, next, sizeof score);
    }
    int m = 0;
    for (int k = 1; k < CW_MODES; k++)
        if (score[k] > score[m]) m = k;
    for (size_t i = n; i-- > 0;) {
        mode[i] = (enum cw_mode)m;
        m = from[i][m];
    }
    free(from);
    return CW_OK;
}

struct shown {
    double cda_m2, weight;
};

static int by_cda(const void *a, const void *b) {
    double x = ((const struct shown *)a)->cda_m2, y = ((const struct shown *)b)->cda_m2;
    return (x > y) - (x < y);
}

struct cw_band cw_modes_band(const struct cw_recording *recording, const struct cw_motion *motion,
                             const struct cw_balance *balance,
                             const struct cw_runs_options *options, const enum cw_mode *mode) {
    struct cw_band band = {options->cda_low_m2, options->cda_high_m2, options->crr_low,
                           options->crr_high};
    const double *time_s = recording->samples.time_s;
    double crr = sqrt(options->crr_low * options->crr_high), total_s = 0.0, sum = 0.0;
    size_t count = 0, n = motion->n;
    struct shown *shown = malloc((n ? n : 1) * sizeof *shown);
    if (!shown) return band;
    for (size_t i = 0; i < n;) {
        size_t end = i;
        double without = 0.0, per_cda = 0.0;
        while (end < n && mode[end] == CW_MODE_COAST && isfinite(balance->head_m[end]) &&
               motion->speed_ms[end] > 3.0 && (end == i || !motion->gap_before[end])) {
            if (end > i) {
                double ds = motion->distance_m[end] - motion->distance_m[end - 1];
                double rolling = cw_balance_loss(options, 0.0, crr, motion->speed_ms[end]);
                without += rolling * ds;
                per_cda +=
                    (cw_balance_loss(options, 1.0, crr, motion->speed_ms[end]) - rolling) * ds;
            }
            end++;
        }
        double length_s = end > i ? time_s[end - 1] - time_s[i] : 0.0;
        if (length_s >= 10.0 && motion->height_m[i] - motion->height_m[end - 1] >
                                    0.01 * (motion->distance_m[end - 1] - motion->distance_m[i])) {
            double loss = balance->head_m[i] - balance->head_m[end - 1];
            shown[count++] = (struct shown){(loss - without) / per_cda, length_s};
            total_s += length_s;
        }
        i = end > i ? end : i + 1;
    }
    if (total_s >= 40.0) {
        qsort(shown, count, sizeof *shown, by_cda);
        size_t k = 0;
        while (k + 1 < count && (sum += shown[k].weight) < 0.5 * total_s) k++;
        double cda = fmin(fmax(shown[k].cda_m2, options->cda_low_m2), options->cda_high_m2);
        band.cda_low_m2 = fmax(0.6 * cda, options->cda_low_m2);
        band.cda_high_m2 = fmin(1.6 * cda, options->cda_high_m2);
        band.crr_high = fmin(options->crr_high, 2.0 * crr);
        band.crr_low = fmax(options->crr_low, 0.5 * crr);
    }
    free(shown);
    return band;
}
