#include "made.h"

#include <stdlib.h>

#include "outing/air_log.h"
#include "road/shared.h"

/* The log as its file would be read. */
static enum cw_status take_log(struct made *made, struct cw_error *error) {
    const struct cw_simulated_log *truth = &made->truth.log;
    if (truth->n < 2) return CW_OK;
    struct cw_air_log *log = made->of->log = calloc(1, sizeof *log);
    if (!log) return cw_error_memory(error);
    log->from_s = malloc(truth->n * sizeof *log->from_s);
    log->to_s = malloc(truth->n * sizeof *log->to_s);
    log->wind_along_ms = malloc(truth->n * sizeof *log->wind_along_ms);
    if (!log->from_s || !log->to_s || !log->wind_along_ms) return cw_error_memory(error);
    double step_s = truth->time_s[1] - truth->time_s[0];
    for (; log->n < truth->n; log->n++) {
        log->from_s[log->n] = truth->time_s[log->n] - step_s;
        log->to_s[log->n] = truth->time_s[log->n];
        log->wind_along_ms[log->n] = truth->wind_along_ms[log->n];
    }
    return CW_OK;
}

enum cw_status made_begin(struct made *made, const struct cw_simulate_options *options,
                          struct cw_error *error) {
    *made = (struct made){0};
    cw_analysis_begin(&made->analysis, NULL);
    enum cw_status status = cw_simulate(options, &made->truth, error);
    if (status < 0) return status;
    status = cw_analysis_take(&made->analysis, &made->truth.outing, made->truth.recordings,
                              made->truth.n_recordings, error);
    made->truth.outing = (struct cw_outing){0};
    made->truth.recordings = NULL;
    made->truth.n_recordings = 0;
    if (status < 0) return status;
    made->of = &made->analysis.outings[0];
    return take_log(made, error);
}

const struct cw_simulated_run *made_truth(const struct made *made, size_t run) {
    const struct cw_run *found = &made->of->runs.at[run];
    double middle = found->start_s + 0.5 * found->duration_s;
    const struct cw_simulated_run *all[] = {made->truth.runs, made->truth.companion_runs};
    for (int who = 0; who < 2; who++)
        for (size_t i = 0; i < made->truth.n_runs && all[who]; i++)
            if (all[who][i].recording == found->recording && all[who][i].start_s < middle &&
                middle < all[who][i].end_s)
                return &all[who][i];
    return NULL;
}

enum cw_status made_find(struct made *made, bool *missed, struct cw_error *error) {
    enum cw_status status = cw_analysis_find(&made->analysis, error);
    if (status < 0) return status;
    struct cw_analysed *of = made->of;
    size_t found = 0, strange = 0;
    for (size_t i = 0; i < of->runs.n; i++) {
        struct cw_run *run = &of->runs.at[i];
        const struct cw_simulated_run *truth = made_truth(made, i);
        if (!run->kept) continue;
        run->kept = truth != NULL;
        run->setup = truth ? truth->setup : CW_NO_SETUP;
        found += truth != NULL;
        strange += !truth;
    }
    size_t ridden = made->truth.n_runs * (made->truth.companion_runs ? 2 : 1);
    if (missed) *missed = strange > 0 || found != ridden;
    of->labelled = CW_OK;
    return cw_roads_number(of->recordings, of->motions, &of->runs, error);
}

enum cw_status made_fit(struct made *made, const struct cw_simulate_options *options,
                        struct cw_error *error) {
    enum cw_status status = made_begin(made, options, error);
    if (status >= 0) status = made_find(made, NULL, error);
    if (status >= 0) status = cw_analysis_fit(&made->analysis, error);
    return status;
}

void made_free(struct made *made) {
    cw_analysis_free(&made->analysis);
    cw_simulated_free(&made->truth);
}
