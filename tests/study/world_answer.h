/* What the command line says of an outing of another make, held against what is true of it. */
#ifndef CW_STUDY_WORLD_ANSWER_H
#define CW_STUDY_WORLD_ANSWER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "tally.h"
#include "world.h"

#define FLAT_KMH 30.0

/* What came of an outing. No pointers: it goes through a pipe in one piece. */
struct answer {
    uint64_t seed;
    bool right; /* runs found: as many as there were, from when to when they were */
    size_t found, made, matched;
    double start_off_s, end_off_s; /* sums over the matched: how much later than true */
    bool answered;                 /* by compare, with a difference */
    bool fitted;                   /* by fit too */
    char why[160];                 /* not answered */
    double truth_percent, true_time_s;
    struct cw_estimate percent, time_s, level[2], crr[2];
    double true_level[2], true_crr[2]; /* Crr on the mean over the runs */
    int verdict;                       /* -1 lower, 1 higher, 0 undecided */
    /* What compare says of the tyres, NaN where it says nothing; and of the power at FLAT_KMH on
     * the flat in still air, drag and rolling. */
    struct cw_estimate crr_difference, power_w;
    double true_crr_difference, true_power_w;
    int crr_verdict;
    struct tally alone, alone_crr, together, wind; /* over its runs */
    double true_runout_m;
    struct cw_estimate runout_m; /* difference of the places where runs stood still */
    size_t fit_runs, identifiable;
    double took_s;
};
_Static_assert(sizeof(struct answer) <= 2048, "an answer must go through a pipe in one piece");

/* How it is asked. */
struct asking {
    const char *program;
    bool label_found; /* the order is made to fit the runs that were found */
    bool runs_only;   /* nothing but the runs is asked for */
    bool with_truth;  /* which is left with the files */
};

/* Makes an outing of that world, writes it to the directory and asks. */
struct answer answer_make(const struct asking *asking, const struct world *world, uint64_t seed,
                          const char *directory);

#endif
