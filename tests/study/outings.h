/* Made-up outings for the studies: named cases, and the whole way from a seed to a fit. */
#ifndef CW_STUDY_OUTINGS_H
#define CW_STUDY_OUTINGS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "made.h"

struct study_case {
    const char *name;    /* to be named on the command line */
    const char *meaning; /* for the table */
    const char *road;
    double gust_sd_ms;
    double temperature_c;
    double lag_s;
    double step_m;                 /* of heights; 0: as usual for their source */
    double load_kg;                /* more on the second setup */
    double cda_difference_percent; /* of the second setup */
    double cda_scatter_percent;
    bool satellite, positions_only, no_cadence;
    bool still_lag; /* lag drawn evenly from 0 to 3 s, another each outing */
};

extern const struct study_case study_cases[];
extern const size_t study_n_cases;
const struct study_case *study_case_named(const char *name);

/* Names and meanings, a line each. */
void study_list_cases(FILE *to);

struct study_outing {
    struct cw_simulate_options options;
    struct made made;
    bool found; /* all runs and nothing else */
    bool fitted;
};

/* Makes, finds and fits an outing of the case. Prints what went wrong, and returns false, when it
 * cannot; free it all the same. */
bool study_outing_make(const struct study_case *c, unsigned long seed, struct study_outing *outing);
void study_outing_free(struct study_outing *outing);

/* The least error, as percent of CdA, that any unbiased estimate of the difference between the two
 * setups can have (Cramer-Rao), given the noise that was made. */
double study_bound_percent(const struct study_outing *outing);

#endif
