/* As measured, with no model: times between gates, run-out, entry speed, run by run and by setup.
 *
 * Of an outing, the road that most of its kept runs share, ridden the way of its first run.
 * Distances along it are as the runs' speeds count them: along the slope by a wheel, over the map
 * by satellites; the same for all runs. A difference between setups is judged by nothing but the
 * scatter of the runs; what it is owed to (mass, drag, entry speed, air) the model says elsewhere.
 */
#ifndef CW_TIMED_TIMED_H
#define CW_TIMED_TIMED_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"
#include "base/public.h"
#include "base/warning.h"
#include "road/ridden.h"
#include "timed/gates.h"
#include "timed/timing.h"

CW_PUBLIC_BEGIN

struct cw_timed_options {
    size_t n_gates;               /* of gates_m, rising; 0: chosen (timed/gates.h) */
    double gates_m[CW_GATES_MAX]; /* along the road */
    size_t n_chosen;              /* how many are chosen: 5 by default, the ends and quarters */
    size_t reference;             /* setup; CW_NO_SETUP (default): the first that has runs */
};
struct cw_timed_options cw_timed_options_default(void);

/* A run at a gate; NaN where it did not cross it. Standard errors are NaN where a run's place on
 * the road is not known (no positions). */
struct cw_crossing {
    double time_s; /* Unix time */
    double speed_ms;
    double standard_error_s; /* of time_s, all told: shift, walk and interval */
    double shift_s;    /* its part from the run's shift along the road: it moves all crossings of
                        * the run by one way, and cancels between gates passed at one speed */
    double interval_s; /* its part from where in the interval between samples the gate fell */
};

struct cw_timed_run {
    size_t run;   /* index into the input's runs */
    size_t setup; /* CW_NO_SETUP if none */
    struct cw_crossing at[CW_GATES_MAX];
    /* Intervals are of the timing error alone. A value is NaN where a gate was missed. */
    struct cw_estimate time_s;         /* from the first gate to the last */
    struct cw_estimate entry_speed_ms; /* at the first gate */
    struct cw_estimate exit_speed_ms;  /* at the last */
    /* As the outing notes it, with the error it states: between two marks of its own by stopwatch;
     * by tape from a mark of its own to where it stood still. NaN where nothing was noted, and
     * where the recorder gives it the lie (timed->doubts). */
    struct cw_estimate time_watched_s, runout_taped_m;
    struct cw_estimate runout_m; /* from the first gate to where it stood still; NaN unless the
                                  * run ended in a stop, or within 15 m of one, before turning */
    /* dT/dv at the first gate, s per m/s, below 0: what a faster entry alone makes of the time if
     * the forces at each place stay what they were. v dv/ds is then the same at each place, so v
     * changes by v0 dv0 / v, and T = integral ds/v by -v0 dv0 integral ds/v^3. Drag grows with
     * speed and eats up much of the gain (two thirds over 800 m at -6 % with 0.4 m2), so this is
     * the most that entry speed can make, not what it makes. */
    double time_by_entry_sms;
};

/* In the order that people read them. What was noted has marks of its own, so that only differences
 * between runs are like the recorder's. */
enum cw_timed_quantity {
    CW_TIMED_TIME_WATCHED, /* s, by stopwatch */
    CW_TIMED_TIME,         /* s */
    CW_TIMED_RUNOUT_TAPED, /* m, by tape */
    CW_TIMED_RUNOUT,       /* m */
    CW_TIMED_ENTRY_SPEED,  /* m/s */
    CW_TIMED_QUANTITIES
};

/* A run's. */
const struct cw_estimate *cw_timed_of(const struct cw_timed_run *run,
                                      enum cw_timed_quantity quantity);

struct cw_timed_group {
    size_t n;            /* runs that have it */
    double mean, sd;     /* sd is NaN below 2 */
    double precision;    /* of times between places: p of the coast-down standards (timed/timing.h);
                            else NaN */
    double timing_error; /* root mean square of the runs' own standard errors: it is in the sd */
};

struct cw_timed_setup {
    size_t setup;
    size_t runs;
    struct cw_timed_group of[CW_TIMED_QUANTITIES];
};

/* How a difference was tested. */
enum cw_timed_test {
    CW_TIMED_NO_TEST, /* one run each: nothing says how much they scatter */
    CW_TIMED_WELCH,
    CW_TIMED_POOLED, /* a setup has one run: the scatter of the other is taken for both */
    CW_TIMED_PAIRED  /* neighbours in time, where the order alternates (ABAB, ABBA) and gives at
                      * least CW_TIMED_PAIRS_LEAST pairs */
};
#define CW_TIMED_PAIRS_LEAST 4
/* "Welch", "pooled", "paired", "none"; constants. */
const char *cw_timed_test_text(enum cw_timed_test test);

struct cw_timed_difference {
    size_t n[2]; /* setup, reference */
    enum cw_timed_test test;
    struct cw_estimate difference; /* setup - reference; its error NaN where it was not tested */
    double percent; /* of the reference's mean; NaN by tape, whose mark is anywhere */
    double df, p_value;
    bool inside_scatter; /* the 95 % interval holds 0: the runs' scatter alone can make it */
};

struct cw_timed_comparison {
    size_t setup, reference;
    struct cw_timed_difference of[CW_TIMED_QUANTITIES];
    /* What the entry speeds' difference alone makes of the time, at most (time_by_entry_sms). */
    struct cw_estimate time_by_entry_s;
};

/* Time on entry speed across runs, within setups; NaN below 4 degrees of freedom. */
struct cw_timed_entry {
    size_t n;
    double df;
    struct cw_estimate slope_sms; /* s per m/s */
    double correlation, p_value;
};

/* Coast-downs on the level, from one speed to the next, by the coast-down standards
 * (timed/timing.h).
 */
#define CW_STEP_MS (5 / 3.6) /* 5 km/h */
struct cw_timed_step {
    size_t setup;
    double from_ms, to_ms;
    bool pairs;              /* of runs in opposite directions, where the road was ridden both ways;
                              * else of runs */
    struct cw_timing timing; /* of at least two */
    double force_precision; /* the comparison's, beside it: half the 95 % interval of the force that
                             * slows the setup down in the middle of the step, as a part of it; NaN
                             * where it tells none */
};

/* A noted value that the recorder gives the lie: a mark mistaken, a digit swapped, or the recorder
 * itself (timed/noted.h says from where on). It is left out of groups and differences. */
struct cw_timed_doubt {
    size_t at;                       /* index into runs */
    enum cw_timed_quantity quantity; /* CW_TIMED_TIME_WATCHED or CW_TIMED_RUNOUT_TAPED */
    double noted, recorded;
    bool turned; /* all are: they fall where the recorder's rise, as if + were back up the road */
    double others_off, others_sd; /* noted - recorded of the runs that agree, and its sd */
    double swapped; /* what agrees, were two neighbouring digits swapped; NaN: nothing does */
};

enum cw_timed_warning {
    CW_TIMED_WARNING_NO_LINE,    /* no positions */
    CW_TIMED_WARNING_NO_PLACE,   /* a run without positions among runs with */
    CW_TIMED_WARNING_MISSED,     /* runs that miss the first or last gate */
    CW_TIMED_WARNING_OTHER_ROAD, /* runs kept that are on another road */
    CW_TIMED_WARNING_OTHER_WAY,  /* runs kept that ride the road the other way than its first */
    CW_TIMED_WARNING_START       /* runs said to begin standing that don't */
};

/* Owns its arrays. */
struct cw_timed {
    size_t road; /* its number in the runs */
    double length_m;
    size_t n_gates;
    double gates_m[CW_GATES_MAX];
    bool gates_chosen;
    double shift_sd_m; /* of a run along the road (timed/place_error.h); of one run, the least */
    bool from_mark;    /* places are counted from the mark where all runs began standing */
    size_t n;
    struct cw_timed_run *runs; /* in time order */
    size_t n_doubts;
    struct cw_timed_doubt *doubts; /* by quantity, then in time order */
    size_t n_setups;
    struct cw_timed_setup *setups; /* those that have runs here, in the outing's order */
    size_t n_comparisons;
    struct cw_timed_comparison *comparisons; /* each other setup against the reference; a
                                              * companion's against the first of that rider */
    struct cw_timed_entry entry;
    size_t n_steps;              /* 0 unless the road is level */
    struct cw_timed_step *steps; /* setup by setup, from the fastest down */
    struct cw_warnings warnings;
};

/* CW_E_DATA where no run is kept, or the runs have no stretch in common to choose gates on;
 * CW_E_ARGUMENT where gates do not rise or the reference has no runs. options may be NULL. Free
 * with cw_timed_free, also after an error. */
enum cw_status cw_timed_make(const struct cw_ridden *input, const struct cw_timed_options *options,
                             struct cw_timed *timed, struct cw_error *error);
void cw_timed_free(struct cw_timed *timed);

/* Sets the setups of what was timed, of the outing, against another of them: CW_NO_SETUP as in
 * cw_timed_options. CW_E_ARGUMENT where it has no runs: then nothing is compared. */
enum cw_status cw_timed_refer(const struct cw_outing *outing, size_t reference,
                              struct cw_timed *timed, struct cw_error *error);

/* Any two of the outing's setups in one quantity, as comparisons have it. CW_E_MEMORY. */
enum cw_status cw_timed_compare(const struct cw_timed *timed, size_t setup, size_t reference,
                                enum cw_timed_quantity quantity,
                                struct cw_timed_difference *difference, struct cw_error *error);

CW_PUBLIC_END

#endif
