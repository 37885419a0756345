#include "fit/run_data.h"

#include <math.h>
#include <stdlib.h>

static const double longest_step_s = 1.25;

static size_t pieces(double interval_s) {
    return interval_s > longest_step_s ? (size_t)ceil(interval_s) : 1;
}

enum cw_status cw_run_data_make(size_t n, const double *time_s, const double *speed_ms,
                                const double *s_m, const double *speed_seen_ms,
                                const double *position_seen_m, const double *height_seen_m,
                                struct cw_run_data *data, struct cw_error *error) {
    *data = (struct cw_run_data){0};
    if (n < 2) return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "a run needs two samples");
    size_t total = 1;
    for (size_t i = 0; i < n; i++) {
        double interval = i ? time_s[i] - time_s[i - 1] : 1;
        if (!(interval > 0) || interval > 3600 || !isfinite(speed_ms[i]) || !isfinite(s_m[i]))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "a run needs rising times and a known motion throughout");
        if (i) total += pieces(interval);
    }
    double *block = calloc((7 + 2 * CW_BREAKS) * total, sizeof *block);
    if (!block) return cw_error_memory(error);
    data->n = total;
    data->time_s = block;
    data->speed_ms = block + total;
    data->s_m = block + 2 * total;
    data->speed_seen_ms = block + 3 * total;
    data->position_seen_m = block + 4 * total;
    data->height_seen_m = block + 5 * total;
    data->curve_1m = block + 6 * total;
    for (size_t kind = 0; kind < CW_BREAKS; kind++) {
        data->break_sd_m[kind] = block + (7 + 2 * kind) * total;
        data->break_m[kind] = block + (8 + 2 * kind) * total;
    }
    size_t at = 0;
    for (size_t i = 0; i < n; i++) {
        size_t count = i ? pieces(time_s[i] - time_s[i - 1]) : 1;
        for (size_t piece = 1; piece < count; piece++, at++) {
            double d = time_s[i] - time_s[i - 1], u = (double)piece / (double)count;
            double s0 = s_m[i - 1], s1 = s_m[i], m0 = d * speed_ms[i - 1], m1 = d * speed_ms[i];
            data->time_s[at] = time_s[i - 1] + u * d - time_s[0];
            data->s_m[at] =
                s0 + u * (m0 + u * (3 * (s1 - s0) - 2 * m0 - m1 + u * (2 * (s0 - s1) + m0 + m1)));
            data->speed_ms[at] =
                (m0 + u * (2 * (3 * (s1 - s0) - 2 * m0 - m1) + 3 * u * (2 * (s0 - s1) + m0 + m1))) /
                d;
            data->speed_seen_ms[at] = data->position_seen_m[at] = data->height_seen_m[at] = NAN;
        }
        data->time_s[at] = time_s[i] - time_s[0];
        data->speed_ms[at] = speed_ms[i];
        data->s_m[at] = s_m[i];
        data->speed_seen_ms[at] = speed_seen_ms[i];
        data->position_seen_m[at] = position_seen_m[i];
        data->height_seen_m[at] = height_seen_m[i];
        at++;
    }
    return CW_OK;
}

void cw_run_data_free(struct cw_run_data *data) {
    free(data->time_s);
    *data = (struct cw_run_data){0};
}
