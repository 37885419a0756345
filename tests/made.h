/* A made-up outing taken through the analysis, with its truth beside it: what tests, studies and
 * benchmarks stand on. */
#ifndef CW_TESTS_MADE_H
#define CW_TESTS_MADE_H

#include "analysis/analysis.h"
#include "simulate/simulate.h"

struct made {
    /* What was true. Outing and recordings have moved into the analysis. */
    struct cw_simulated truth;
    struct cw_analysis analysis;
    struct cw_analysed *of; /* the analysis's one outing */
};

/* Simulates and hands over. Free with made_free, also after an error. */
enum cw_status made_begin(struct made *made, const struct cw_simulate_options *options,
                          struct cw_error *error);
/* Finds the runs; those kept are of the setup that was truly ridden, and stretches that were no run
 * are turned down. *missed, which may be NULL: whether any made run was missed or any stretch
 * kept that is none. */
enum cw_status made_find(struct made *made, bool *missed, struct cw_error *error);
/* Both, and the fit. */
enum cw_status made_fit(struct made *made, const struct cw_simulate_options *options,
                        struct cw_error *error);
void made_free(struct made *made);

/* The made run that a found one is of: the same time; NULL if none. */
const struct cw_simulated_run *made_truth(const struct made *made, size_t run);

#endif
