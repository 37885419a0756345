/* The order of samples in time. */
#include <math.h>
#include <stdlib.h>

#include "recording/clean.h"

#define SPIKE_S 60.0 /* a stamp this far out of order is wrong, not shuffled */

/* Removes the samples whose time was made NaN; a break before one passes to the next. */
static void close_up(struct cw_samples *samples) {
    size_t kept = 0;
    bool break_before = false;
    for (size_t i = 0; i < samples->n; i++) {
        struct cw_sample sample = cw_samples_get(samples, i);
        break_before = break_before || sample.break_before;
        if (isnan(sample.time_s)) continue;
        sample.break_before = break_before;
        break_before = false;
        cw_samples_set(samples, kept++, &sample);
    }
    samples->n = kept;
}

static void count_steps(const struct cw_samples *samples, size_t *forward, size_t *backward) {
    *forward = *backward = 0;
    for (size_t i = 1; i < samples->n; i++) {
        if (samples->time_s[i] > samples->time_s[i - 1]) ++*forward;
        if (samples->time_s[i] < samples->time_s[i - 1]) ++*backward;
    }
}

/* Whether the stamp at i alone is wrong: two neighbours on each side (where there are so many)
 * rise across it, closer together than it lies from them, and it is out of order. */
static bool is_spike(const struct cw_samples *samples, size_t i) {
    const double *t = samples->time_s;
    size_t first = i >= 2 ? i - 2 : 0, last = i + 2 < samples->n ? i + 2 : samples->n - 1;
    double before = NAN, low = NAN, high = NAN;
    for (size_t j = first; j <= last; j++) {
        if (j == i) continue;
        if (t[j] < before) return false;
        if (isnan(low)) low = t[j];
        before = high = t[j];
    }
    double out = fmax(t[i] - high, low - t[i]);
    bool backwards = (i > 0 && t[i] < t[i - 1]) || (i + 1 < samples->n && t[i] > t[i + 1]);
    return backwards && out > SPIKE_S && out > high - low;
}

static void drop_spikes(struct cw_recording *recording) {
    struct cw_samples *samples = &recording->samples;
    bool dropped = false;
    for (size_t i = 0; i < samples->n; i++) {
        if (!is_spike(samples, i)) continue;
        cw_warning_add(&recording->warnings, CW_RECORDING_TIME_SPIKE, samples->line[i],
                       "time far from its neighbours': point left out");
        samples->time_s[i] = NAN;
        dropped = true;
    }
    if (dropped) close_up(samples);
}

struct place {
    double time_s;
    size_t i;
};

static int by_time(const void *a, const void *b) {
    const struct place *x = a, *y = b;
    if (x->time_s != y->time_s) return x->time_s < y->time_s ? -1 : 1;
    return x->i < y->i ? -1 : 1; /* stable */
}

static enum cw_status sort(struct cw_recording *recording, struct cw_error *error) {
    struct cw_samples *samples = &recording->samples, sorted = {0};
    struct place *places = malloc(samples->n * sizeof *places);
    enum cw_status status = places ? CW_OK : CW_E_MEMORY;
    for (size_t i = 0; i < samples->n && !status; i++) {
        places[i] = (struct place){samples->time_s[i], i};
        if (i && samples->time_s[i] < samples->time_s[i - 1])
            cw_warning_add(&recording->warnings, CW_RECORDING_TIME_ORDER, samples->line[i],
                           "time goes backwards: points put in order");
    }
    if (!status) qsort(places, samples->n, sizeof *places, by_time);
    for (size_t i = 0; i < samples->n && !status; i++) {
        struct cw_sample sample = cw_samples_get(samples, places[i].i);
        status = cw_samples_add(&sorted, &sample);
    }
    free(places);
    if (status) {
        cw_samples_free(&sorted);
        return cw_error_memory(error);
    }
    cw_samples_free(samples);
    *samples = sorted;
    return CW_OK;
}

/* Takes from *more what *sample lacks. Returns false, *sample untouched, if both have something. */
static bool join(struct cw_sample *sample, const struct cw_sample *more) {
    struct cw_sample joined = *sample;
    double *to[] = {&joined.latitude_deg, &joined.longitude_deg, &joined.elevation_m,
                    &joined.distance_m,   &joined.speed_ms,      &joined.cadence_rpm,
                    &joined.power_w,      &joined.temperature_c};
    const double from[] = {more->latitude_deg, more->longitude_deg, more->elevation_m,
                           more->distance_m,   more->speed_ms,      more->cadence_rpm,
                           more->power_w,      more->temperature_c};
    for (size_t i = 0; i < sizeof from / sizeof *from; i++) {
        if (isnan(from[i])) continue;
        if (!isnan(*to[i])) return false;
        *to[i] = from[i];
    }
    *sample = joined;
    return true;
}

/* Points of the same time: quantities that a device wrote apart come together; of points that
 * contradict or repeat each other the first stands. */
static void join_same_times(struct cw_recording *recording) {
    struct cw_samples *samples = &recording->samples;
    size_t last = 0;
    for (size_t i = 1; i < samples->n; i++) {
        if (samples->time_s[i] > samples->time_s[last]) {
            last = i;
            continue;
        }
        struct cw_sample first = cw_samples_get(samples, last), more = cw_samples_get(samples, i);
        if (!join(&first, &more))
            cw_warning_add(&recording->warnings, CW_RECORDING_TIME_DUPLICATE, more.line,
                           "second point of the same time: left out");
        first.break_before = first.break_before || more.break_before;
        cw_samples_set(samples, last, &first);
        samples->time_s[i] = NAN;
        samples->break_before[i] = false;
    }
    close_up(samples);
}

enum cw_status cw_clean_order(struct cw_recording *recording, struct cw_error *error) {
    struct cw_samples *samples = &recording->samples;
    size_t forward, backward;
    count_steps(samples, &forward, &backward);
    if (backward > 20 * forward)
        return cw_error_set(error, CW_E_FORMAT, recording->file, samples->line[0],
                            "time runs backwards from the first point to the last: "
                            "export the ride again, not reversed");
    if (backward > 0 && backward < samples->n / 10 + 2) {
        drop_spikes(recording);
        count_steps(samples, &forward, &backward);
    }
    if (backward > 0) {
        enum cw_status status = sort(recording, error);
        if (status) return status;
    }
    join_same_times(recording);
    return CW_OK;
}
