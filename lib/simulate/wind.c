#include "simulate/wind.h"

#include <math.h>
#include <stdlib.h>

enum cw_status cw_wind_open(const struct cw_simulate_options *options, double step_s,
                            double limit_s, struct cw_breeze *breeze, struct cw_wind *wind,
                            struct cw_error *error) {
    size_t n = (size_t)(limit_s / step_s) + 2;
    *wind = (struct cw_wind){.options = options,
                             .breeze = breeze,
                             .met = breeze->n > 0,
                             .own = cw_random_make(options->seed, CW_STREAM_RUN_WIND),
                             .wandering = cw_random_make(options->seed, CW_STREAM_WANDER_WIND),
                             .series = {.n = n, .step_s = step_s}};
    wind->wander_ms = calloc(n, sizeof *wind->wander_ms);
    wind->series.value_ms = malloc(n * sizeof *wind->series.value_ms);
    if (!wind->own.state || !wind->wandering.state || !wind->wander_ms || !wind->series.value_ms)
        return cw_error_memory(error);
    wind->wander =
        cw_drift_make(options->wander_wind_sd_ms, options->wander_wind_time_s, &wind->wandering);
    return CW_OK;
}

void cw_wind_close(struct cw_wind *wind) {
    cw_random_free(&wind->own);
    cw_random_free(&wind->wandering);
    free(wind->wander_ms);
    free(wind->series.value_ms);
    *wind = (struct cw_wind){0};
}

enum cw_status cw_wind_begin(struct cw_wind *wind, size_t number, double clock_s,
                             struct cw_error *error) {
    const struct cw_simulate_options *options = wind->options;
    struct cw_random gusts = cw_random_make(options->seed, CW_STREAM_GUST + number);
    if (!gusts.state) return cw_error_memory(error);
    cw_gust_series_fill(&wind->series, options->gust_sd_ms, options->gust_time_s, &gusts);
    cw_random_free(&gusts);
    if (wind->met) {
        for (size_t i = 0; i < wind->series.n; i++)
            wind->series.value_ms[i] +=
                cw_breeze_at(wind->breeze, clock_s + (double)i * wind->series.step_s);
        return CW_OK;
    }
    wind->own_ms = options->run_wind_sd_ms * cw_random_normal(&wind->own);
    cw_drift_step(&wind->wander, clock_s - wind->clock_s, &wind->wandering);
    wind->clock_s = clock_s;
    for (size_t i = 0; i < wind->series.n; i++) {
        wind->wander_ms[i] = wind->wander.value;
        wind->series.value_ms[i] += wind->own_ms + wind->wander.value;
        cw_drift_step(&wind->wander, wind->series.step_s, &wind->wandering);
    }
    return CW_OK;
}

enum cw_status cw_wind_end(struct cw_wind *wind, double duration_s, struct cw_error *error) {
    if (wind->met) return CW_OK;
    struct cw_gust_series wander = wind->series;
    wander.value_ms = wind->wander_ms;
    wind->wander.value = cw_gust_series_at(duration_s, &wander);
    enum cw_status status = CW_OK;
    for (size_t i = 0; (double)i * wander.step_s < duration_s && !status; i++)
        status = cw_breeze_add(wind->breeze, wind->clock_s + (double)i * wander.step_s,
                               wind->own_ms + wind->wander_ms[i], error);
    wind->clock_s += duration_s;
    return status ? status
                  : cw_breeze_add(wind->breeze, wind->clock_s, wind->own_ms + wind->wander.value,
                                  error);
}
