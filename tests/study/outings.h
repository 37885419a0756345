/* Made-up outings for the studies: named cases, and the whole way from a seed to a fit. */
#ifndef CW_STUDY_OUTINGS_H
#define CW_STUDY_OUTINGS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "made.h"

/* The study's own cases come first, then the simulator's worlds (simulate/worlds.h). In each the
 * second setup has 3 % less CdA where nothing else is set. */
struct study_case {
    const char *name;     /* to be named on the command line */
    const char *meaning;  /* for the table */
    const char *settings; /* as cw_simulate_set_all takes them */
    bool still_lag;       /* elevation lag drawn evenly from 0 to 3 s, another each outing */
};

/* The i-th case, from 0; false behind the last. */
bool study_case_at(size_t i, struct study_case *c);
bool study_case_named(const char *name, struct study_case *c);

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
/* The same, where what the outing file says (masses, load, air, wind, wheels, and the scale of the
 * heights) is off by as much as the error budget takes it to be, at random. */
bool study_outing_make_stated(const struct study_case *c, unsigned long seed,
                              struct study_outing *outing);
void study_outing_free(struct study_outing *outing);

/* The least error, as percent of CdA, that any unbiased estimate of the difference between the two
 * setups can have (Cramer-Rao), given the noise and the wind that were made and what was known of
 * the wind besides: notes, a log, a companion's runs. NaN where something
 * was made that neither says: brushes, bends, jumps, a map, days, the device's own speed. */
double study_bound_percent(const struct study_outing *outing);
/* The same of the first tyres' Crr, and of the difference in Crr between two setups on tyres of
 * their own, in winds that do not differ; NaN where there are more tyres, or not two. */
double study_bound_crr(const struct study_outing *outing);
double study_bound_crr_difference(const struct study_outing *outing);

#endif
