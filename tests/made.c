#include "made.h"

#include <stdlib.h>

#include "road/shared.h"

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
    if (status >= 0) made->of = &made->analysis.outings[0];
    return status;
}

const struct cw_simulated_run *made_truth(const struct made *made, size_t run) {
    const struct cw_run *found = &made->of->runs.at[run];
    double middle = found->start_s + 0.5 * found->duration_s;
    for (size_t i = 0; i < made->truth.n_runs; i++)
        if (made->truth.runs[i].start_s < middle && middle < made->truth.runs[i].end_s)
            return &made->truth.runs[i];
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
    if (missed) *missed = strange > 0 || found != made->truth.n_runs;
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
