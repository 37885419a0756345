/* Where the seconds and the metres came from: the measured difference between two setups' runs,
 * divided among what the runs differed in.
 *
 * Measured are the means of the setups' times between gates and of their run-outs (timed/timed.h),
 * D = setup - reference. The model (physics/descent.h, down the profile that the fit found) has a
 * quantity y of a run as F(x), of its mass, CdA, Crr, air density, speed at the first gate and
 * wind, x. From the reference's mean x to the setup's all six change together, along a straight
 * line, and what each does on the way is its part:
 *
 *   P_c = (a_c - b_c) integral from 0 to 1 of dF/dx_c (b + t (a - b)) dt
 *
 * (Aumann & Shapley 1974, Values of Non-Atomic Games, from memory). The parts add up to F(a) - F(b)
 * and none hangs on an order: what mass does depends a little on the drag that it does it to, and
 * drag on the mass, and neither comes first. Where but one thing changes, all is that one's. What
 * is left, D - the sum of the parts, is unexplained.
 *
 * A part's interval holds what is not known of CdA and Crr, with their joint covariance, scatter
 * and systematic causes as the comparison has them (compare/rolling.h, compare/run_model.h), of the
 * load, of the recordings' own air, of the speeds at the gate, and of winds that somebody saw. That
 * of what is left is made of how the runs' times scatter once each is allowed its own CdA: beyond
 * it is what neither drag nor chance explains. */
#ifndef CW_EXPLAIN_EXPLAIN_H
#define CW_EXPLAIN_EXPLAIN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "compare/compare.h"
#include "compare/split.h"
#include "fit/fit.h"
#include "road/ridden.h"
#include "timed/timed.h"

CW_PUBLIC_BEGIN

enum cw_explained_quantity {
    CW_EXPLAINED_TIME,   /* s, from the first gate to the last */
    CW_EXPLAINED_DOWN,   /* s, from the first gate to the bottom of a dip */
    CW_EXPLAINED_FAR,    /* s, from there to the last gate */
    CW_EXPLAINED_RUNOUT, /* m, from the first gate to standing still */
    CW_EXPLAINED
};

/* A setup that should have rolled further for its load, or less far, and did not. */
struct cw_contrary {
    bool is;
    double expected_m;           /* what all but drag and rolling make of the run-out */
    struct cw_estimate beyond_m; /* measured - expected */
    bool scatter;                /* its interval holds 0: the runs' scatter alone can make it */
    /* What it would take of the setup, were it real: more CdA, percent, or more Crr; and the
     * seconds that this would cost on the way. */
    double cda_percent, crr, cda_time_s, crr_time_s;
};

/* A pair of setups in an outing. */
struct cw_explanation {
    size_t outing;              /* its number in the analysis */
    size_t setup, reference;    /* indices into the comparison's setups */
    size_t runs[2];             /* that were timed: setup's, reference's */
    double from_m, dip_m, to_m; /* gates; NaN: no dip */
    /* The means of what its runs were like: setup's, reference's; in enum cw_part's order kg, m2,
     * Crr, kg/m3, m/s, m/s. */
    double state[2][CW_MODEL_PARTS];
    bool wind_known;
    struct cw_split of[CW_EXPLAINED];
    /* What 1 % more CdA of the setup does, and a unit of Crr. */
    double by_percent_cda[CW_EXPLAINED], by_crr[CW_EXPLAINED];
    struct cw_contrary contrary;
};

/* Owned. */
struct cw_explained {
    size_t n;
    struct cw_explanation *at; /* in the comparison's order of pairs */
};

/* What else is timed for explanations, whatever is compared. */
struct cw_explained_times {
    struct cw_timed half[2]; /* to the bottom of a dip, and from there; empty: no dip */
    struct cw_timed at_end;  /* to where the last metres of run-outs begin; empty: nowhere */
};

/* Of an outing that was ridden, fitted and timed; empty where nothing was timed. Free with
 * cw_explained_times_free, also after an error. */
enum cw_status cw_explained_times_make(const struct cw_ridden *ridden, const struct cw_fit *fit,
                                       const struct cw_timed *timed,
                                       struct cw_explained_times *times, struct cw_error *error);
void cw_explained_times_free(struct cw_explained_times *times);

/* All pairs of the comparison that have runs in the outing that was fitted and timed. None
 * where nothing was timed, which is no error. explained->at[].outing is the number given. Free with
 * cw_explained_free, also after an error. */
enum cw_status cw_explain(const struct cw_fit *fit, const struct cw_timed *timed,
                          const struct cw_explained_times *more, const struct cw_compare *compare,
                          size_t outing, struct cw_explained *explained, struct cw_error *error);
void cw_explained_free(struct cw_explained *explained);

CW_PUBLIC_END

#endif
