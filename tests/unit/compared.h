/* Made-up outings, fitted and compared: what the tests of comparison and its report stand on. */
#ifndef COMPARED_H
#define COMPARED_H

#include <check.h>
#include <stdlib.h>

#include "analysis/label.h"
#include "compare/compare.h"
#include "report/report.h"
#include "road/shared.h"
#include "simulate/simulate.h"

enum { COMPARED_MOST = 3 };

struct compared {
    size_t n;
    struct made {
        struct cw_simulated made;
        struct cw_motion *motions;
        struct cw_runs runs;
        size_t *setups;
        struct cw_fit fit;
    } of[COMPARED_MOST];
    struct cw_compare_outing outings[COMPARED_MOST];
    struct cw_report_outing shown[COMPARED_MOST];
    struct cw_compare compare;
    struct cw_report report; /* of all this */
};

/* Light air, as the simulation has it by default; the setups are cape and jacket. */
static inline struct cw_simulate_options compared_options(unsigned long seed) {
    struct cw_simulate_options options = cw_simulate_options_default();
    options.seed = seed;
    options.gust_sd_ms = 0.05;
    return options;
}

/* The order of the runs, as a letter each: "ABBA". */
static inline void compared_order(struct cw_simulate_options *options, const char *letters) {
    for (options->n_order = 0; *letters; letters++)
        options->order[options->n_order++] = (size_t)(*letters - 'A');
}

/* Makes, finds, labels and fits one more outing. stray: a run (from 0) that is said to be of
 * said_to_be, whatever it was; SIZE_MAX: none. */
static inline void compared_add(struct compared *c, const struct cw_simulate_options *options,
                                size_t stray, size_t said_to_be) {
    struct made *m = &c->of[c->n];
    struct cw_error error;
    ck_assert_int_eq(cw_simulate(options, &m->made, &error), CW_OK);
    size_t n = m->made.n_recordings, kept = 0;
    m->motions = calloc(n, sizeof *m->motions);
    for (size_t i = 0; i < n; i++)
        ck_assert_int_eq(cw_motion_make(&m->made.recordings[i], &m->motions[i], &error), CW_OK);
    struct cw_runs_options runs_options = cw_runs_options_default();
    ck_assert_int_eq(
        cw_runs_find(m->made.recordings, m->motions, n, &runs_options, &m->runs, &error), CW_OK);
    ck_assert_int_eq(cw_roads_number(m->made.recordings, m->motions, &m->runs, &error), CW_OK);
    cw_roads_keep_one(&m->runs);
    m->setups = malloc((m->runs.n + 1) * sizeof *m->setups);
    for (size_t i = 0; i < m->runs.n; i++) {
        m->setups[i] = CW_NO_SETUP;
        if (!m->runs.at[i].kept) continue;
        m->setups[i] = kept == stray ? said_to_be : options->order[kept];
        kept++;
    }
    ck_assert_uint_eq(kept, options->n_order);
    struct cw_fit_input input = {.outing = &m->made.outing,
                                 .recordings = m->made.recordings,
                                 .motions = m->motions,
                                 .n_recordings = n,
                                 .runs = &m->runs,
                                 .setups = m->setups};
    ck_assert_int_ge(cw_fit_outing(&input, &m->fit, &error), 0);
    c->outings[c->n] = (struct cw_compare_outing){&m->made.outing, &m->fit, &m->runs};
    c->shown[c->n++] = (struct cw_report_outing){.outing = &m->made.outing,
                                                 .n_recordings = n,
                                                 .recordings = m->made.recordings,
                                                 .motions = m->motions,
                                                 .runs = &m->runs,
                                                 .setups = m->setups,
                                                 .fit = &m->fit};
}

static inline void compared_compare(struct compared *c, const char *reference) {
    struct cw_compare_options options = cw_compare_options_default();
    struct cw_error error;
    options.reference = reference;
    ck_assert_msg(cw_compare_setups(c->outings, c->n, &options, &c->compare, &error) >= 0, "%s",
                  error.message);
    c->report = (struct cw_report){c->n, c->shown, &c->compare};
}

/* One outing, compared. */
static inline void compared_make(struct compared *c, const struct cw_simulate_options *options) {
    *c = (struct compared){0};
    compared_add(c, options, SIZE_MAX, 0);
    compared_compare(c, NULL);
}

static inline void compared_free(struct compared *c) {
    cw_compare_free(&c->compare);
    for (size_t i = 0; i < c->n; i++) {
        struct made *m = &c->of[i];
        cw_fit_free(&m->fit);
        for (size_t j = 0; j < m->made.n_recordings; j++) cw_motion_free(&m->motions[j]);
        free(m->motions);
        free(m->setups);
        cw_runs_free(&m->runs);
        cw_simulated_free(&m->made);
    }
}

#endif
