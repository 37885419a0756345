/* The way from simulation options to timed runs, and the truth beside them. */
#ifndef TIMED_OUTING_H
#define TIMED_OUTING_H

#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "analysis/label.h"
#include "road/shared.h"
#include "simulate/simulate.h"
#include "timed/timed.h"

struct timed_outing {
    struct cw_simulated made;
    struct cw_motion *motions;
    struct cw_runs runs;
    size_t *setups;
    struct cw_fit_input input;
};

/* The made run that a found one is of. */
static inline const struct cw_simulated_run *timed_truth(const struct timed_outing *outing,
                                                         size_t run) {
    const struct cw_run *found = &outing->runs.at[run];
    double middle = found->start_s + 0.5 * found->duration_s;
    for (size_t i = 0; i < outing->made.n_runs; i++)
        if (outing->made.runs[i].start_s < middle && middle < outing->made.runs[i].end_s)
            return &outing->made.runs[i];
    return NULL;
}

/* Finds runs in outing->made, whose recordings the caller may have changed, and labels them with
 * the truth. */
static inline void timed_outing_find(struct timed_outing *outing) {
    struct cw_error error;
    size_t n = outing->made.n_recordings;
    outing->motions = calloc(n, sizeof *outing->motions);
    ck_assert_ptr_nonnull(outing->motions);
    for (size_t i = 0; i < n; i++)
        ck_assert_int_eq(cw_motion_make(&outing->made.recordings[i], &outing->motions[i], &error),
                         CW_OK);
    struct cw_runs_options options = cw_runs_options_default();
    ck_assert_int_eq(
        cw_runs_find(outing->made.recordings, outing->motions, n, &options, &outing->runs, &error),
        CW_OK);
    ck_assert_int_eq(
        cw_roads_number(outing->made.recordings, outing->motions, &outing->runs, &error), CW_OK);
    outing->setups = malloc((outing->runs.n + 1) * sizeof *outing->setups);
    ck_assert_ptr_nonnull(outing->setups);
    for (size_t i = 0; i < outing->runs.n; i++) {
        const struct cw_simulated_run *truth = timed_truth(outing, i);
        outing->setups[i] = outing->runs.at[i].kept && truth ? truth->setup : CW_NO_SETUP;
    }
    outing->input = (struct cw_fit_input){.outing = &outing->made.outing,
                                          .recordings = outing->made.recordings,
                                          .motions = outing->motions,
                                          .n_recordings = n,
                                          .runs = &outing->runs,
                                          .setups = outing->setups};
}

/* Fills *outing, which stays where it is: its input points into it. */
static inline void timed_outing_make(const struct cw_simulate_options *options,
                                     struct timed_outing *outing) {
    struct cw_error error = {0};
    *outing = (struct timed_outing){0};
    ck_assert_msg(cw_simulate(options, &outing->made, &error) == CW_OK, "%s", error.message);
    timed_outing_find(outing);
}

static inline void timed_outing_free(struct timed_outing *outing) {
    for (size_t i = 0; i < outing->made.n_recordings; i++) cw_motion_free(&outing->motions[i]);
    free(outing->motions);
    free(outing->setups);
    cw_runs_free(&outing->runs);
    cw_simulated_free(&outing->made);
}

/* Hermite's cubic between the descent's states: right to some 1e-6 m at steps of 0.5 s. */
static inline double timed_true_place(const struct cw_simulated_run *run, double time_s) {
    const struct cw_descent *d = &run->descent;
    double t = time_s - run->start_s;
    size_t i = 0;
    while (i + 2 < d->n && d->time_s[i + 1] < t) i++;
    double h = d->time_s[i + 1] - d->time_s[i], u = (t - d->time_s[i]) / h, w = 1 - u;
    return d->s_m[i] * w * w * (1 + 2 * u) + d->s_m[i + 1] * u * u * (1 + 2 * w) +
           h * u * w * (d->speed_ms[i] * w - d->speed_ms[i + 1] * u);
}

static inline double timed_true_time(const struct cw_simulated_run *run, double s_m) {
    double low = run->start_s, high = run->end_s;
    for (int k = 0; k < 60; k++) {
        double middle = 0.5 * (low + high);
        if (timed_true_place(run, middle) < s_m)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

#endif
