/* Track points as columns. A column is an array of n numbers; what is missing is NaN. */
#ifndef CW_RECORDING_SAMPLES_H
#define CW_RECORDING_SAMPLES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

/* All zero is empty; the columns are owned: free with cw_samples_free. */
struct cw_samples {
    size_t n, capacity;
    double *time_s; /* Unix time, UTC; strictly rising once a recording has been read */
    double *latitude_deg, *longitude_deg;
    double *elevation_m;
    double *distance_m; /* as the device counts it */
    double *speed_ms;   /* as the device says it */
    double *cadence_rpm;
    double *power_w;
    double *temperature_c;
    int *line;          /* line in the file */
    bool *break_before; /* a run must not reach across: new track segment, lost position */
};

/* One track point; fields that are missing are NaN. */
struct cw_sample {
    double time_s, latitude_deg, longitude_deg, elevation_m, distance_m, speed_ms, cadence_rpm,
        power_w, temperature_c;
    int line;
    bool break_before;
};

/* Whether it has one. */
bool cw_sample_has_position(const struct cw_sample *sample);
/* All fields missing. */
struct cw_sample cw_sample_missing(void);
/* Appends; the columns grow together. CW_E_MEMORY if they cannot. */
enum cw_status cw_samples_add(struct cw_samples *samples, const struct cw_sample *sample);
struct cw_sample cw_samples_get(const struct cw_samples *samples, size_t i);
void cw_samples_set(struct cw_samples *samples, size_t i, const struct cw_sample *sample);
/* Frees the columns; *samples is empty afterwards. */
void cw_samples_free(struct cw_samples *samples);

CW_PUBLIC_END

#endif
