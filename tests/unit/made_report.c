#include "made_report.h"

#include <stdlib.h>

#include "analysis/label.h"
#include "road/shared.h"

/* The made run that a found one is of: the same time. */
static size_t setup_of(const struct made_report *made, const struct cw_run *run) {
    double middle = run->start_s + 0.5 * run->duration_s;
    for (size_t i = 0; i < made->made.n_runs; i++)
        if (made->made.runs[i].start_s < middle && middle < made->made.runs[i].end_s)
            return made->made.runs[i].setup;
    return CW_NO_SETUP;
}

enum cw_status made_report_make(const struct cw_simulate_options *options, const long *turned_down,
                                size_t n_turned_down, struct made_report *made,
                                struct cw_error *error) {
    *made = (struct made_report){0};
    enum cw_status status = cw_simulate(options, &made->made, error);
    if (status < 0) return status;
    size_t n = made->made.n_recordings;
    made->motions = calloc(n, sizeof *made->motions);
    if (!made->motions) return cw_error_memory(error);
    for (size_t i = 0; i < n; i++) {
        status = cw_motion_make(&made->made.recordings[i], &made->motions[i], error);
        if (status < 0) return status;
    }
    struct cw_runs_options runs_options = cw_runs_options_default();
    status =
        cw_runs_find(made->made.recordings, made->motions, n, &runs_options, &made->runs, error);
    if (status < 0) return status;
    status = cw_roads_number(made->made.recordings, made->motions, &made->runs, error);
    if (status < 0) return status;
    made->setups = malloc((made->runs.n + 1) * sizeof *made->setups);
    if (!made->setups) return cw_error_memory(error);
    for (size_t i = 0; i < made->runs.n; i++) {
        struct cw_run *run = &made->runs.at[i];
        for (size_t k = 0; k < n_turned_down; k++)
            if (run->number == turned_down[k]) {
                run->kept = false;
                run->reasons |= CW_REASON_SKIPPED;
            }
        made->setups[i] = run->kept ? setup_of(made, run) : CW_NO_SETUP;
    }
    struct cw_fit_input input = {.outing = &made->made.outing,
                                 .recordings = made->made.recordings,
                                 .motions = made->motions,
                                 .n_recordings = n,
                                 .runs = &made->runs,
                                 .setups = made->setups};
    status = cw_fit_outing(&input, &made->fit, error);
    if (status < 0) return status;
    struct cw_compare_outing outing = {&made->made.outing, &made->fit, &made->runs};
    struct cw_compare_options compare_options = cw_compare_options_default();
    made->compared = cw_compare_setups(&outing, 1, &compare_options, &made->compare, error) >= 0;
    made->outing = (struct cw_report_outing){.outing = &made->made.outing,
                                             .n_recordings = n,
                                             .recordings = made->made.recordings,
                                             .motions = made->motions,
                                             .runs = &made->runs,
                                             .setups = made->setups,
                                             .fit = &made->fit};
    made->report = (struct cw_report){
        .n = 1, .outings = &made->outing, .compare = made->compared ? &made->compare : NULL};
    return CW_OK;
}

void made_report_free(struct made_report *made) {
    if (made->compared) cw_compare_free(&made->compare);
    cw_fit_free(&made->fit);
    for (size_t i = 0; i < made->made.n_recordings; i++)
        if (made->motions) cw_motion_free(&made->motions[i]);
    cw_runs_free(&made->runs);
    free(made->motions);
    free(made->setups);
    cw_simulated_free(&made->made);
}
