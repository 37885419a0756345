/* Anything at all, read as a recording: it is read or refused, and what is read keeps the promises
 * of recording.h. Built as a fuzzer with -Dfuzz=true, and by replay.c for every test run. */
#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include "recording/read.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void promise(int kept) {
    if (!kept) abort();
}

static int within(double value, double low, double high) {
    return isnan(value) || (value >= low && value <= high);
}

static void check(const struct cw_recording *recording) {
    const struct cw_samples *s = &recording->samples;
    double distance_m = 0;
    promise(s->n > 0);
    for (size_t i = 0; i < s->n; i++) {
        promise(isfinite(s->time_s[i]) && (i == 0 || s->time_s[i] > s->time_s[i - 1]));
        promise(within(s->latitude_deg[i], -90, 90) && within(s->longitude_deg[i], -180, 180));
        promise(isnan(s->latitude_deg[i]) == isnan(s->longitude_deg[i]));
        promise(within(s->elevation_m[i], -500, 9000) && within(s->speed_ms[i], 0, 60));
        promise(within(s->cadence_rpm[i], 0, 253) && within(s->power_w[i], 0, 4000));
        promise(within(s->distance_m[i], distance_m, INFINITY));
        if (!isnan(s->distance_m[i])) distance_m = s->distance_m[i];
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length) {
    struct cw_recording recording;
    struct cw_error error = {0};
    enum cw_status status = cw_recording_read_memory(bytes, length, "fuzz", &recording, &error);
    if (status == CW_OK)
        check(&recording);
    else
        promise(error.code == status && error.message[0]);
    cw_recording_free(&recording);
    return 0;
}
