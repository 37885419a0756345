#include "recording/clean.h"

#include <math.h>

#include "recording/place.h"

#define JUMP_SLACK_M 100.0 /* wander that is no jump, whatever the speed it implies */
#define RESTART_SHARE 0.5  /* a counter that falls below this share of itself starts anew */
#define MOVED_M 2.0        /* a position that moved, not wandered */
#define MOVED_MS 1.0       /* so does a speed */

static double apart_m(const struct cw_samples *samples, size_t i, size_t j) {
    return cw_place_apart_m(samples->latitude_deg[i], samples->longitude_deg[i],
                            samples->latitude_deg[j], samples->longitude_deg[j]);
}

/* Whether nobody can have ridden from i to j. */
static bool out_of_reach(const struct cw_samples *samples, size_t i, size_t j) {
    double step_s = samples->time_s[j] - samples->time_s[i];
    return apart_m(samples, i, j) > JUMP_SLACK_M + CW_SPEED_MAX_MS * step_s;
}

/* The next sample after i that has a position, or n. */
static size_t next_placed(const struct cw_samples *samples, size_t i) {
    for (i++; i < samples->n && isnan(samples->latitude_deg[i]);) i++;
    return i;
}

void cw_clean_positions(struct cw_recording *recording) {
    struct cw_samples *samples = &recording->samples;
    size_t before = samples->n; /* the last position that was kept */
    for (size_t i = 0; i < samples->n; i++) {
        if (isnan(samples->latitude_deg[i])) continue;
        size_t after = next_placed(samples, i);
        bool between = before < samples->n && after < samples->n;
        if (between && out_of_reach(samples, before, i) && out_of_reach(samples, i, after) &&
            !out_of_reach(samples, before, after)) {
            cw_warning_add(&recording->warnings, CW_RECORDING_POSITION_JUMP, samples->line[i],
                           "position jumps away and back: taken as missing");
            samples->latitude_deg[i] = samples->longitude_deg[i] = NAN;
            samples->break_before[after] = true;
        } else {
            before = i;
        }
    }
}

/* What was ridden from i to j, by speed where there is one, else by position; NaN if neither. */
static double ridden_m(const struct cw_samples *samples, size_t i, size_t j) {
    double by_speed = (samples->speed_ms[i] + samples->speed_ms[j]) / 2 *
                      (samples->time_s[j] - samples->time_s[i]);
    return isnan(by_speed) ? apart_m(samples, i, j) : by_speed;
}

/* A counter that was set back to 0 goes on from where it was; one that steps back is missing
 * until it has caught up. */
static void make_distance_rise(struct cw_recording *recording) {
    struct cw_samples *samples = &recording->samples;
    double *distance = samples->distance_m, counted = NAN, offset = 0;
    size_t last = 0; /* where the counter was last believed; counted is what it said */
    for (size_t i = 0; i < samples->n; i++) {
        double count = distance[i];
        if (isnan(count)) continue;
        if (count < counted * RESTART_SHARE) {
            double ridden = ridden_m(samples, last, i);
            cw_warning_add(&recording->warnings, CW_RECORDING_DISTANCE_RESTART, samples->line[i],
                           "distance starts anew: carried on from the distance before");
            offset = distance[last] + (isnan(ridden) ? count : ridden) - count;
        } else if (count < counted) {
            cw_warning_add(&recording->warnings, CW_RECORDING_DISTANCE_BACK, samples->line[i],
                           "distance steps back: taken as missing until it has caught up");
            distance[i] = NAN;
            continue;
        }
        counted = count;
        distance[i] = count + offset;
        last = i;
    }
}

/* Whether the rider moved between samples i and j, whose distances are the same. */
static bool moved(const struct cw_samples *samples, size_t i, size_t j) {
    double sum_ms = 0;
    size_t speeds = 0;
    for (size_t k = i; k <= j; k++)
        if (!isnan(samples->speed_ms[k])) sum_ms += samples->speed_ms[k], speeds++;
    if (speeds) return sum_ms / (double)speeds > MOVED_MS;
    double way_m = apart_m(samples, i, j);
    return way_m > MOVED_M && way_m > MOVED_MS * (samples->time_s[j] - samples->time_s[i]);
}

/* A value that is repeated while the rider moves was new only once. */
static void thaw_distance(struct cw_recording *recording) {
    struct cw_samples *samples = &recording->samples;
    double *distance = samples->distance_m;
    for (size_t i = 0, j; i < samples->n; i = j) {
        size_t last = i;
        for (j = i + 1; j < samples->n && (isnan(distance[j]) || distance[j] == distance[i]); j++)
            if (!isnan(distance[j])) last = j;
        if (isnan(distance[i]) || last == i || !moved(samples, i, last)) continue;
        for (size_t k = i + 1; k <= last; k++) {
            if (isnan(distance[k])) continue;
            cw_warning_add(&recording->warnings, CW_RECORDING_DISTANCE_FROZEN, samples->line[k],
                           "distance stands still while the rider moves: taken as missing");
            distance[k] = NAN;
        }
    }
}

void cw_clean_distance(struct cw_recording *recording) {
    make_distance_rise(recording);
    thaw_distance(recording);
}

static bool any(const double *column, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (!isnan(column[i])) return true;
    return false;
}

/* Whether every value that is there is the same; true if there are none. */
static bool is_constant(const double *column, size_t n) {
    double value = NAN;
    for (size_t i = 0; i < n; i++) {
        if (isnan(column[i])) continue;
        if (!isnan(value) && column[i] != value) return false;
        value = column[i];
    }
    return true;
}

static bool is_zero(const double *column, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (column[i] > 0) return false;
    return true;
}

/* Makes the column missing if it is nothing but `idle` values; returns whether it is any use. */
static bool use(struct cw_recording *recording, double *column, bool idle,
                enum cw_recording_warning kind, const char *why) {
    size_t n = recording->samples.n;
    if (!any(column, n)) return false;
    if (!idle) return true;
    for (size_t i = 0; i < n; i++) column[i] = NAN;
    cw_warning_add(&recording->warnings, (int)kind, 0, "%s", why);
    return false;
}

void cw_clean_columns(struct cw_recording *recording) {
    struct cw_samples *s = &recording->samples;
    recording->has_position = any(s->latitude_deg, s->n);
    recording->has_temperature = any(s->temperature_c, s->n);
    recording->has_distance = any(s->distance_m, s->n) && !is_constant(s->distance_m, s->n);
    if (!any(s->elevation_m, s->n))
        cw_warning_add(&recording->warnings, CW_RECORDING_NO_ELEVATION, 0,
                       "there is no elevation in the recording; coastwise needs the heights");
    recording->has_elevation =
        use(recording, s->elevation_m, s->n > 1 && is_constant(s->elevation_m, s->n),
            CW_RECORDING_NO_ELEVATION,
            "elevation never changes: taken as missing; coastwise needs the heights");
    recording->has_cadence =
        use(recording, s->cadence_rpm, is_zero(s->cadence_rpm, s->n), CW_RECORDING_NO_CADENCE,
            "cadence is 0 throughout: taken as no sensor");
    recording->has_power = use(recording, s->power_w, is_zero(s->power_w, s->n),
                               CW_RECORDING_NO_POWER, "power is 0 throughout: taken as no meter");
    recording->has_speed = use(recording, s->speed_ms, is_zero(s->speed_ms, s->n),
                               CW_RECORDING_NO_SPEED, "speed is 0 throughout: taken as missing");
}
