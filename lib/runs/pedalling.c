#include "runs/pedalling.h"

#include <math.h>
#include <stdbool.h>

#define LEAST_POWER_W 5.0
#define CARRY_S 5.0
#define SHORT_STRETCH_S 4.0
#define HELD_S 10.0
/* Energy is gained for certain from this many standard errors on; slower than this speed even a
 * push with the foot gains. */
#define GAIN_SDS 2.0
#define GAIN_SPEED_MS 2.0
#define MOST_GAINING 0.1
/* No coast gains so much over so long. */
#define ASLEEP_GAIN_M 8.0
#define ASLEEP_S 20.0

/* Whether a column's zeros are measurements; see the header. */
static bool zeros_count(const struct cw_samples *samples, const double *column, double least) {
    size_t above = 0, broken = 0;
    for (size_t i = 0; i < samples->n;) {
        if (!(column[i] > least)) {
            i++;
            continue;
        }
        size_t end = i + 1;
        while (end < samples->n && column[end] > least) end++;
        above += end - i;
        /* The stretch reaches to the sample that ends it. */
        double length_s =
            end < samples->n ? samples->time_s[end] - samples->time_s[i] : SHORT_STRETCH_S;
        if (length_s < SHORT_STRETCH_S) broken += end - i;
        i = end;
    }
    return above > 0 && 2 * broken < above;
}

static enum cw_pedalling from_power(const struct cw_samples *samples, size_t i, bool has_cadence) {
    if (samples->power_w[i] > LEAST_POWER_W) return CW_PEDALLING_YES;
    double cadence = has_cadence ? samples->cadence_rpm[i] : NAN;
    bool held = i > 0 && cadence == samples->cadence_rpm[i - 1];
    return cadence > 0.0 && !held ? CW_PEDALLING_YES : CW_PEDALLING_NO;
}

/* Whether the ride gains energy while the column says that nobody pedals. */
static bool is_blind(const struct cw_recording *recording, const struct cw_motion *motion,
                     const struct cw_balance *balance, const enum cw_pedalling *pedalling) {
    const double *time_s = recording->samples.time_s;
    double still_s = 0.0, gaining_s = 0.0;
    for (size_t i = 1; i < motion->n; i++) {
        /* Not the first second: the window still looks back at the last strokes. */
        if (pedalling[i] != CW_PEDALLING_NO || pedalling[i - 1] != CW_PEDALLING_NO ||
            motion->gap_before[i] || !(motion->speed_ms[i] > GAIN_SPEED_MS))
            continue;
        double dt = time_s[i] - time_s[i - 1];
        still_s += dt;
        if (balance->rate_ms[i] > GAIN_SDS * balance->rate_sd_ms[i]) gaining_s += dt;
    }
    return gaining_s > MOST_GAINING * still_s;
}

/* Forgets stretches said to be unpedalled in which the ride climbs on and on. */
static void forget_sleep(const struct cw_recording *recording, const struct cw_motion *motion,
                         const struct cw_balance *balance, enum cw_pedalling *pedalling) {
    const double *time_s = recording->samples.time_s, *head_m = balance->head_m;
    for (size_t i = 0; i < motion->n;) {
        if (pedalling[i] != CW_PEDALLING_NO) {
            i++;
            continue;
        }
        size_t end = i, lowest = i;
        bool asleep = false;
        for (; end < motion->n && pedalling[end] == CW_PEDALLING_NO &&
               (end == i || !motion->gap_before[end]);
             end++) {
            if (!(head_m[end] >= head_m[lowest])) lowest = end;
            asleep = asleep || (head_m[end] - head_m[lowest] > ASLEEP_GAIN_M &&
                                time_s[end] - time_s[lowest] >= ASLEEP_S);
        }
        for (; i < end; i++)
            if (asleep) pedalling[i] = CW_PEDALLING_UNKNOWN;
    }
}

void cw_pedalling_tell(const struct cw_recording *recording, const struct cw_motion *motion,
                       const struct cw_balance *balance, enum cw_pedalling *pedalling) {
    const struct cw_samples *samples = &recording->samples;
    bool power_zeros =
        recording->has_power && zeros_count(samples, samples->power_w, LEAST_POWER_W);
    bool cadence_zeros = recording->has_cadence && zeros_count(samples, samples->cadence_rpm, 0.0);
    double silent_since_s = NAN; /* time of the last measured 0 */
    double held_since_s = NAN, held = NAN;
    for (size_t i = 0; i < samples->n; i++) {
        double power = recording->has_power ? samples->power_w[i] : NAN;
        double cadence = recording->has_cadence ? samples->cadence_rpm[i] : NAN;
        if (cadence != held) {
            held = cadence;
            held_since_s = samples->time_s[i];
        }
        bool measured = true;
        if (power > LEAST_POWER_W)
            pedalling[i] = CW_PEDALLING_YES;
        else if (isfinite(power) && power_zeros)
            pedalling[i] = from_power(samples, i, recording->has_cadence);
        else if (cadence > 0.0 && samples->time_s[i] - held_since_s <= HELD_S)
            pedalling[i] = CW_PEDALLING_YES;
        else if (cadence == 0.0 && cadence_zeros)
            pedalling[i] = CW_PEDALLING_NO;
        else
            measured = false;
        if (measured) {
            silent_since_s = pedalling[i] == CW_PEDALLING_NO ? samples->time_s[i] : NAN;
            continue;
        }
        bool absent = isnan(power) && isnan(cadence);
        pedalling[i] = absent && samples->time_s[i] - silent_since_s <= CARRY_S
                           ? CW_PEDALLING_NO
                           : CW_PEDALLING_UNKNOWN;
    }
    if (is_blind(recording, motion, balance, pedalling))
        for (size_t i = 0; i < samples->n; i++) pedalling[i] = CW_PEDALLING_UNKNOWN;
    else
        forget_sleep(recording, motion, balance, pedalling);
}
