/* The error budget: what each systematic cause does to Crr and CdA.
 *
 * A cause is off by the same amount in every run of an outing (of the air: of all recordings that
 * have no air of their own), so no scatter shows it. Its effect
 * on every estimate is found by fitting again with the cause moved by its standard uncertainty
 * (JCGM 100:2008, GUM, eqs. 10 and 16, sensitivities by difference, 5.1.3 note 2). Because the
 * effects on all runs are kept, with their signs, what two setups share cancels in a difference. */
#ifndef CW_FIT_BUDGET_H
#define CW_FIT_BUDGET_H

#include <stddef.h>

#include "base/error.h"
#include "fit/cause.h"
#include "fit/joint.h"
#include "fit/noise.h"
#include "fit/prepare.h"
#include "outing/outing.h"
#include "runs/run.h"

/* What it is called, and the unit of its uncertainty; constants. */
void cw_cause_name(enum cw_cause_kind kind, const char **name, const char **unit);

struct cw_cause {
    enum cw_cause_kind kind;
    const char *name;
    double uncertainty; /* standard uncertainty, in unit */
    const char *unit;
    double *effect; /* on x = (Crr of each set of tyres, CdA of each run) */
    double *alone;  /* on (CdA, Crr) of each run alone: 2 n_runs numbers */
};

struct cw_budget {
    size_t n;
    struct cw_cause *causes;
    size_t n_x;
    size_t n_tyres;
    double *own_air; /* of each run: standard uncertainty of its CdA from what is not known of its
                      * recording's own air. By the density alone: an altimeter's scale that is one
                      * recording's moves its own heights, and the road's only by its share. */
    double *
        effects; /* n or more x (n_x + 2 n_runs), row by row: what the causes' effects point into */
    /* Where Crr of several sets of tyres is asked for: how x answers to a wind that is the same in
     * all runs of a kind, those of one setup that go the same way, and not in the others. Within a
     * run a wind looks like drag area, but not wholly: some of it goes to the tyres' Crr, and from
     * there to the CdA of all runs on them. */
    size_t n_kinds;  /* 0 where that is not asked for */
    size_t *kind;    /* of each run */
    double *by_wind; /* n_kinds x n_x: by an unknown headwind of 1 m/s, signed as the outing's */
};

/* Square root of the sum over all causes of the squared effects on x[i]; and on CdA (what is 0) or
 * Crr (1) of run i alone. */
double cw_budget_of(const struct cw_budget *budget, size_t i);
double cw_budget_of_alone(const struct cw_budget *budget, size_t i, size_t what);

/* What the temperature of its tyres, off by one standard uncertainty of how they answer to it, does
 * to x[i]; 0 where runs were alike. One and the same thing in all outings. */
double cw_budget_warm(const struct cw_budget *budget, size_t i);

/* The joint is moved and put back. Free with cw_budget_free, also after an error. */
enum cw_status cw_budget_make(const struct cw_outing *outing, const struct cw_recording_air *air,
                              size_t n_recordings, const struct cw_runs *runs,
                              struct cw_joint *joint, const struct cw_noise *noise,
                              struct cw_budget *budget, struct cw_error *error);
/* A budget in which nothing is off; it has no more than how several sets of tyres answer to winds.
 * The joint is moved and put back. Freed likewise. */
enum cw_status cw_budget_of_winds(struct cw_joint *joint, const struct cw_noise *noise,
                                  struct cw_budget *budget, struct cw_error *error);
void cw_budget_free(struct cw_budget *budget);

#endif
