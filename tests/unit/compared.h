/* Made-up outings, fitted and compared: what the tests of comparison and its report stand on. */
#ifndef COMPARED_H
#define COMPARED_H

#include <check.h>
#include <stdlib.h>

#include "analysis/analysis.h"
#include "simulate/simulate.h"

enum { COMPARED_MOST = 3 };

struct compared {
    size_t n;
    struct cw_simulated truth[COMPARED_MOST];
    struct cw_analysis analysis; /* of all of them */
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

/* Hands the outing made last over to the analysis. */
static inline void compared_hand_over(struct compared *c) {
    struct cw_simulated *truth = &c->truth[c->n - 1];
    struct cw_error error;
    ck_assert_int_ge(cw_analysis_take(&c->analysis, &truth->outing, truth->recordings,
                                      truth->n_recordings, &error),
                     0);
    truth->outing = (struct cw_outing){0};
    truth->recordings = NULL;
    truth->n_recordings = 0;
}

/* Makes one more outing, not handed over yet. */
static inline struct cw_simulated *compared_simulate(struct compared *c,
                                                     const struct cw_simulate_options *options) {
    struct cw_simulated *truth = &c->truth[c->n++];
    struct cw_error error;
    ck_assert_int_eq(cw_simulate(options, truth, &error), CW_OK);
    return truth;
}

/* Makes one more outing, to be labelled with what was ridden but for run `stray` (from 0), which is
 * said to be of said_to_be; SIZE_MAX: none. */
static inline void compared_add(struct compared *c, const struct cw_simulate_options *options,
                                size_t stray, size_t said_to_be) {
    struct cw_simulated *truth = compared_simulate(c, options);
    if (stray < truth->outing.order.n) truth->outing.order.setup[stray] = said_to_be;
    compared_hand_over(c);
}

static inline void compared_fit(struct compared *c) {
    struct cw_error error;
    ck_assert_msg(cw_analysis_find(&c->analysis, &error) >= 0, "%s", error.message);
    ck_assert_msg(cw_analysis_fit(&c->analysis, &error) >= 0, "%s", error.message);
}

/* Fits what is not fitted yet. */
static inline void compared_compare(struct compared *c, const char *reference) {
    struct cw_analysis_compare_options options = {.reference = reference};
    struct cw_error error;
    if (!c->analysis.outings[0].fitted) compared_fit(c);
    ck_assert_msg(cw_analysis_compare(&c->analysis, &options, &error) >= 0, "%s", error.message);
}

/* One outing, compared. */
static inline void compared_make(struct compared *c, const struct cw_simulate_options *options) {
    *c = (struct compared){0};
    compared_add(c, options, SIZE_MAX, 0);
    compared_compare(c, NULL);
}

static inline void compared_free(struct compared *c) {
    cw_analysis_free(&c->analysis);
    for (size_t i = 0; i < c->n; i++) cw_simulated_free(&c->truth[i]);
}

#endif
