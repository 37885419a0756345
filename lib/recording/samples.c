#include "recording/samples.h"

#include <math.h>
#include <stdlib.h>

/* The columns of numbers, in the order of struct cw_samples and struct cw_sample. */
#define COLUMNS(X)                                                                                 \
    X(time_s)                                                                                      \
    X(latitude_deg)                                                                                \
    X(longitude_deg)                                                                               \
    X(elevation_m)                                                                                 \
    X(distance_m) X(speed_ms) X(cadence_rpm) X(power_w) X(temperature_c) X(line) X(break_before)

struct cw_sample cw_sample_missing(void) {
    return (struct cw_sample){.time_s = NAN,
                              .latitude_deg = NAN,
                              .longitude_deg = NAN,
                              .elevation_m = NAN,
                              .distance_m = NAN,
                              .speed_ms = NAN,
                              .cadence_rpm = NAN,
                              .power_w = NAN,
                              .temperature_c = NAN};
}

bool cw_sample_has_position(const struct cw_sample *sample) {
    return isfinite(sample->latitude_deg) && isfinite(sample->longitude_deg);
}

/* A column that has grown before another fails is only longer than it needs to be. */
static bool grow(struct cw_samples *samples, size_t capacity) {
#define GROW(column)                                                                               \
    {                                                                                              \
        void *grown = realloc(samples->column, capacity * sizeof *samples->column);                \
        if (!grown) return false;                                                                  \
        samples->column = grown;                                                                   \
    }
    COLUMNS(GROW)
#undef GROW
    samples->capacity = capacity;
    return true;
}

enum cw_status cw_samples_add(struct cw_samples *samples, const struct cw_sample *sample) {
    if (samples->n == samples->capacity) {
        size_t capacity = samples->capacity ? samples->capacity + samples->capacity / 2 : 1024;
        if (!grow(samples, capacity)) return CW_E_MEMORY;
    }
    cw_samples_set(samples, samples->n++, sample);
    return CW_OK;
}

struct cw_sample cw_samples_get(const struct cw_samples *samples, size_t i) {
    struct cw_sample sample;
#define GET(column) sample.column = samples->column[i];
    COLUMNS(GET)
#undef GET
    return sample;
}

void cw_samples_set(struct cw_samples *samples, size_t i, const struct cw_sample *sample) {
#define SET(column) samples->column[i] = sample->column;
    COLUMNS(SET)
#undef SET
}

void cw_samples_free(struct cw_samples *samples) {
#define FREE(column) free(samples->column);
    COLUMNS(FREE)
#undef FREE
    *samples = (struct cw_samples){0};
}
