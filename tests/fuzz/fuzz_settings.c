/* Anything at all as settings of a made-up outing, as slopes of a road, and as a ride's numbers:
 * they are set or refused, and an outing that is allowed is made, as recordings promise to be.
 * Built as a fuzzer with -Dfuzz=true, and by replay.c for every test run. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "predict/predict.h"
#include "predict/road.h"
#include "simulate/settings.h"
#include "simulate/simulate.h"

enum { RUNS_MOST = 4, TEXT_MOST = 2000 };

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void promise(int kept) {
    if (!kept) abort();
}

/* What is made in no time. */
static bool is_small(const struct cw_simulate_options *o) {
    double length_m = 0;
    for (size_t i = 0; i < o->n_segments; i++) length_m += o->segments[i].length_m;
    return o->n_order <= RUNS_MOST && length_m <= 1500 && o->interval_s >= 0.5 &&
           o->climb_speed_ms >= 2 && o->top_wait_s + o->bottom_wait_s <= 600;
}

static void check_outing(const struct cw_simulate_options *options) {
    struct cw_simulated made;
    struct cw_error error = {0};
    enum cw_status status = cw_simulate(options, &made, &error);
    promise(status >= 0 || error.message[0]);
    for (size_t r = 0; status >= 0 && r < made.n_recordings; r++) {
        const struct cw_samples *samples = &made.recordings[r].samples;
        promise(samples->n > 0);
        for (size_t i = 0; i < samples->n; i++)
            promise(isfinite(samples->time_s[i]) &&
                    (!i || samples->time_s[i] > samples->time_s[i - 1]) &&
                    !isinf(samples->elevation_m[i]) && !isinf(samples->speed_ms[i]));
    }
    cw_simulated_free(&made);
}

static void check_road(const char *text) {
    struct cw_predict_road road;
    struct cw_error error = {0};
    if (cw_predict_road_of_slopes(text, &road, &error) >= 0) {
        promise(road.length_m > 0 && isfinite(road.length_m) && road.n_stretches > 0);
        promise(isfinite(cw_predict_road_drop(&road)));
    } else {
        promise(error.message[0]);
    }
    cw_predict_road_free(&road);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length) {
    struct cw_simulate_options options = cw_simulate_options_default();
    struct cw_predict_case of = cw_predict_case_none();
    struct cw_error error = {0};
    char text[TEXT_MOST + 1];
    if (length > TEXT_MOST) return 0;
    if (length) memcpy(text, bytes, length);
    text[length] = '\0';
    if (cw_simulate_set_all(&options, text, &error) < 0)
        promise(error.message[0]);
    else if (cw_simulate_options_check(&options, &error) >= 0 && is_small(&options))
        check_outing(&options);
    check_road(text);
    error = (struct cw_error){0};
    promise(cw_predict_set_all(&of, text, &error) >= 0 || error.message[0]);
    return 0;
}
