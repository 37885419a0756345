#include "runs/balance.h"

#include <math.h>
#include <stdlib.h>

#include "physics/gravity.h"
#include "stats/robust.h"

#define SLOW_ERROR_SPEED_MS 4.0
#define LEAST_RATE_SD_MS 0.03
/* Slow errors go together for about this long. */
#define SLOW_S 6.0
/* Gusts of 0.3 m/s and 10 s take (rho CdA / m g) v2 w off the head a second, which adds up: over
 * half a minute to about this density times v4 (for CdA 0.35 and 85 kg). Both the variance and the
 * time that goes together grow with the time. */
#define GUST_M2S 9e-6
#define GUST_S 30.0
/* A wander of positions by 2 m within a minute is one of speed by about this within some seconds.
 */
#define WANDER_MS 0.12
#define WANDER_S 10.0
/* Errors of smoothed speeds go together for about this long. */
#define SPEED_ERROR_S 3.0
/* Scatter of heights that fellows tell, and what recorded ones have beyond their own; a road said
 * to be level has neither. */
#define FELLOWS_M2 0.02
#define RECORDED_M2 0.03

/* The wheels' inertia is not asked for. */
static struct cw_bicycle bicycle_of(const struct cw_runs_options *options) {
    return (struct cw_bicycle){.mass_kg = options->mass_kg};
}

struct cw_loss cw_balance_loss(const struct cw_runs_options *options, double speed_ms) {
    const struct cw_bicycle bicycle = bicycle_of(options);
    const struct cw_surroundings still = {.density_kgm3 = options->density_kgm3,
                                          .gravity_ms2 = CW_STANDARD_GRAVITY_MS2};
    return cw_coast_loss(&bicycle, &still, speed_ms, 1);
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

static bool by_fellows(const struct cw_heights *heights, size_t i) {
    return heights->by_fellows && heights->by_fellows[i];
}

/* How much the rate a metre does from one window to the next, of the samples whose heights fellows
 * tell or of the others; the median does not see the few times when it is the rider who changes. */
static double median_move(const double *time_s, const struct cw_motion *motion,
                          const struct cw_heights *heights, const struct cw_balance *balance,
                          const double *window_s, bool fellows, double *moves) {
    size_t n = balance->n, count = 0;
    for (size_t i = 0, j = 0; i < n; i++) {
        if (j < i) j = i;
        while (j + 1 < n && !motion->gap_before[j + 1] && !(time_s[j] - time_s[i] >= window_s[i]))
            j++;
        if (!(time_s[j] - time_s[i] >= window_s[i]) ||
            !(motion->speed_ms[i] > SLOW_ERROR_SPEED_MS) ||
            !(motion->speed_ms[j] > SLOW_ERROR_SPEED_MS) || !isfinite(balance->rate_ms[j]) ||
            by_fellows(heights, i) != fellows || by_fellows(heights, j) != fellows)
            continue;
        moves[count++] = fabs(balance->rate_ms[j] / motion->speed_ms[j] -
                              balance->rate_ms[i] / motion->speed_ms[i]);
    }
    return count >= 20 ? 1.4826 * cw_median(moves, count) / sqrt(2.0) : 0.0;
}

static double gusts_m2s(double speed_ms) {
    return GUST_M2S * speed_ms * speed_ms * speed_ms * speed_ms;
}

/* Heights err together over some seconds (the altimeter's lag and steps, filters in the recorder),
 * the more the faster one rides. How much, their moves show. */
static enum cw_status add_slow_errors(const double *time_s, const struct cw_motion *motion,
                                      const struct cw_heights *heights, const double *window_s,
                                      struct cw_balance *balance, struct cw_error *error) {
    size_t n = balance->n;
    double *moves = malloc((n ? n : 1) * sizeof *moves);
    if (!moves) return cw_error_memory(error);
    bool recorded = heights->sd_m > 0.0; /* else said to be level */
    double slow[2] = {recorded ? heights->slow : 0.0, 0.0};
    if (isnan(slow[0]))
        slow[0] = median_move(time_s, motion, heights, balance, window_s, false, moves);
    if (heights->by_fellows)
        slow[1] = median_move(time_s, motion, heights, balance, window_s, true, moves);
    balance->slow = slow[0];
    balance->level = !recorded;
    balance->density_m2s = moves; /* what was in it has been told */
    for (size_t i = 0; i < n; i++) {
        bool fellows = by_fellows(heights, i);
        double rate_sd = slow[fellows] * motion->speed_ms[i], window = window_s[i];
        balance->rate_sd_ms[i] = hypot(balance->rate_sd_ms[i], rate_sd) + LEAST_RATE_SD_MS;
        /* A line over a window has an error of slope of sqrt(12) sd / window. */
        double slow_sd = isfinite(window) ? rate_sd * window / sqrt(12.0) : 0.0;
        double white = recorded ? heights->sd_m * heights->sd_m + RECORDED_M2 : 0.0;
        if (fellows) white = FELLOWS_M2;
        /* The smooth speed's own error, and the wander of positions read as speed. */
        double speed = motion->speed_ms[i], lever = speed / CW_STANDARD_GRAVITY_MS2;
        double speed_error = motion->speed_error_ms[i] * lever;
        double wander = motion->source == CW_SPEED_POSITION ? WANDER_MS * lever : 0.0;
        balance->density_m2s[i] = white * 1.0 + slow_sd * slow_sd * SLOW_S +
                                  speed_error * speed_error * SPEED_ERROR_S +
                                  wander * wander * WANDER_S;
        /* Errors of heights are not told from gusts in seconds: all of it counts. */
        if (recorded) balance->density_m2s[i] += gusts_m2s(speed);
    }
    return CW_OK;
}

enum cw_status cw_balance_make(const struct cw_recording *recording, const struct cw_motion *motion,
                               const struct cw_heights *heights,
                               const struct cw_runs_options *options, struct cw_balance *balance,
                               struct cw_error *error) {
    const struct cw_bicycle bicycle = bicycle_of(options);
    size_t n = motion->n;
    const double *time_s = recording->samples.time_s;
    *balance =
        (struct cw_balance){.n = n, .head_m = heights->height_m, .speed_ms = motion->speed_ms};
    size_t room = n ? n : 1;
    double *window_s = calloc(room, sizeof *window_s); /* the time that the line of a rate spans */
    balance->rate_ms = calloc(room, sizeof *balance->rate_ms);
    balance->rate_sd_ms = calloc(room, sizeof *balance->rate_sd_ms);
    if (!window_s || !balance->rate_ms || !balance->rate_sd_ms) {
        free(window_s);
        return cw_error_memory(error);
    }
    for (size_t i = 0; i < n; i++)
        balance->head_m[i] +=
            cw_kinetic_head(&bicycle, CW_STANDARD_GRAVITY_MS2, motion->speed_ms[i]);

    double half_s = fmin(fmax(3.0 + 10.0 * (heights->sd_m - 0.1), 3.0), 6.0);
    for (size_t i = 0; i < n; i++) {
        balance->rate_ms[i] = balance->rate_sd_ms[i] = window_s[i] = NAN;
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
        double speed_part = speed * motion->speed_error_ms[i] / CW_STANDARD_GRAVITY_MS2;
        double variance = heights->sd_m * heights->sd_m + speed_part * speed_part;
        balance->rate_sd_ms[i] = sqrt(variance / spread_s2);
        window_s[i] = time_s[last] - time_s[first];
    }
    enum cw_status status = add_slow_errors(time_s, motion, heights, window_s, balance, error);
    free(window_s);
    return status;
}

double cw_gusts_part(double lasts_s) {
    double part = fmin(lasts_s / GUST_S, 1.0);
    return part * part;
}

double cw_balance_gusts(const struct cw_balance *balance, size_t i) {
    return balance->level ? gusts_m2s(balance->speed_ms[i]) : 0.0;
}

double cw_balance_density(const struct cw_balance *balance, size_t i, double lasts_s) {
    return balance->density_m2s[i] + cw_gusts_part(lasts_s) * cw_balance_gusts(balance, i);
}

void cw_balance_even(const struct cw_balance *balance, const struct cw_motion *motion,
                     const struct cw_runs_options *options, double cda_m2, double *even_m) {
    double lost = 0.0, crr = sqrt(options->crr_low * options->crr_high);
    for (size_t i = 0; i < balance->n; i++) {
        double ds = i ? motion->distance_m[i] - motion->distance_m[i - 1] : 0.0;
        struct cw_loss loss = cw_balance_loss(options, motion->speed_ms[i]);
        double part = ds * cw_loss_sum(&loss, cda_m2, crr);
        if (isfinite(part)) lost += part;
        even_m[i] = balance->head_m[i] + lost;
    }
}

void cw_balance_forget_rates(struct cw_balance *balance) {
    free(balance->rate_ms);
    free(balance->rate_sd_ms);
    balance->rate_ms = balance->rate_sd_ms = NULL;
}

void cw_balance_free(struct cw_balance *balance) {
    cw_balance_forget_rates(balance);
    free(balance->head_m);
    free(balance->density_m2s);
    *balance = (struct cw_balance){0};
}
