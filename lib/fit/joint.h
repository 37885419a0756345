/* All runs of an outing at once: the joint normal equations and their restricted likelihood.
 *
 * To know first (fit/README.md has the whole derivation): each run brings normal equations of its
 * own (fit/whiten.h), of corrections to the values it was linearised about (fit/linear.h). Unknowns
 * are eliminated in the order a run's own four, the roads' profiles, the recordings' speed scales,
 * what bends cost, the mean wind along the road; what is left speaks of x = (Crr of each set of
 * tyres, CdA of each run) alone: the information matrix J and vector b of fit/information.h, whole
 * even where J is singular because the data cannot tell some of x apart. A joint is made,
 * linearised and given its lags; then it can be evaluated, of all runs or of some, and advanced.
 *
 * In numbers (held to by tests/unit/test_fit_joint.c): two runs of 80 kg down 590 m of a straight
 * -5 % from 4 m/s, CdA 0.30 and 0.33 m2, Crr 0.005; one recording of speed, place and height every
 * second; gusts of 0.05 m/s. The unknowns are
 *
 *    8   ENERGY, SHIFT, OFFSET and OWN_WIND of each run (enum cw_tail); the last held
 *   51   coefficients of the profile: 48 intervals of 15 m over 590 + 2 x 60 m, and 3
 *    1   speed scale
 *    1   mean wind, here as good as known
 *    3   x: Crr, CdA of run 1, CdA of run 2
 *
 * together 64, seen by 345 observations. Eliminating the first 61 leaves J:
 *
 *             Crr       CdA 1     CdA 2
 *   Crr       6.05e6    3.26e5    2.76e5
 *   CdA 1               1.15e5   -0.74e5
 *   CdA 2                         1.00e5
 *
 * -0.74e5 comes from what both runs rest on and was eliminated, profile and scale; no observation
 * is of two CdA at once. The standard errors from one run's equations alone and from both together:
 *
 *                   Crr      CdA 1    CdA 2    CdA 2 - CdA 1
 *   run 1 alone     0.0018   0.0170
 *   run 2 alone     0.0019            0.0190
 *   both together   0.0013   0.0125   0.0132   0.0034
 *
 * Together CdA 1 and CdA 2 have a correlation of 0.97: what is not known of Crr and of the profile
 * moves both alike, and most of it cancels in their difference. */
#ifndef CW_FIT_JOINT_H
#define CW_FIT_JOINT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "fit/equations.h"
#include "fit/ground.h"
#include "fit/information.h"
#include "fit/linear.h"
#include "fit/noise.h"
#include "fit/pieces.h"
#include "fit/profile.h"
#include "fit/run_data.h"
#include "fit/whiten.h"

/* Of a set of tyres: known beforehand, or to be fitted (then the prior only steadies the search
 * and is not part of the information). */
struct cw_crr_prior {
    struct cw_prior prior;
    bool known;
};

struct cw_joint_priors {
    double offset_sd_m;    /* a run's heights against the profile's */
    double shift_sd_m;     /* a run's place along the road */
    double scale_sd;       /* relative error of recorded speeds */
    struct cw_prior bends; /* what bends cost (fit/linear.h) */
    struct cw_prior wind;  /* mean along the road, m/s, a headwind to who rides it its own way. An
                            * sd of 0: not asked for */
    /* Steady wind of a run's own beyond that, an sd, m/s. It is integrated out where the noise is
     * searched for, which would else take it for gusts that last; the information of Crr and CdA is
     * without it, for it looks like drag area, and what it does to that is asked between runs
     * (fit/between.h). */
    double own_wind_ms;
    bool mapped;            /* heights are the place's (fit/ground.h), not the recorder's */
    struct cw_prior cda_m2; /* steadies the search; not part of the information */
};

struct cw_joint {
    size_t n_runs, n_roads, n_recordings, n_devices, n_tyres;
    struct cw_run_data *data; /* a run each, with its basis motion */
    struct cw_linear *linear;
    struct cw_profile *profile;  /* a road each: the basis value */
    struct cw_profile *mirrored; /* the same as who rides it the other way counts; n is 0 where
                                  * nobody does */
    struct cw_ground *ground;    /* a road each */
    struct cw_pieces pieces;     /* its runs */
    struct cw_places *places;    /* a piece each: room for its filter's way back */
    double *cda_m2;              /* a run each: the basis value, the mean of its setup */
    double *crr;                 /* a set of tyres each: the basis value, of runs as warm as all
                                  * are on the mean */
    double crr_fall_1k;          /* how it falls with the temperature: held */
    double *lag_s;               /* a device each: given, see cw_joint_set_lags */
    double *scale;               /* a recording each: the basis value */
    double bends;                /* what they cost: the basis value */
    double bends_any;            /* and at any speed: held */
    struct cw_prior bends_found; /* what all runs tell of it; as stated until cw_joint_advance */
    double wind_ms;              /* the basis value */
    struct cw_prior wind_found;  /* what all runs tell of it where those of one setup are taken to
                                  * have one CdA: within a run a steady wind looks like drag area,
                                  * and  shows only in how those that ride the other way differ. Wide
                                  * as stated until cw_joint_advance */
    struct cw_crr_prior *crr_prior; /* a set of tyres each */
    struct cw_joint_priors priors;
    size_t n_whiteners; /* one for each thread that works on its runs: fit/crew.h */
    struct cw_whitener **whitener;
    size_t most_nodes;
};

/* Takes over data (n_runs of them, owned from here on; also when it fails). Where heights are the
 * place's they are taken out of the runs once the roads have them. spacing_m: of the
 * profiles' knots. Crr and CdA are set to their priors' means, lags and scales to 0, and profiles
 * to the recorded heights. */
enum cw_status cw_joint_make(struct cw_run_data *data, size_t n_runs, size_t n_roads,
                             size_t n_recordings, size_t n_tyres,
                             const struct cw_joint_priors *priors,
                             const struct cw_crr_prior *crr_prior, double spacing_m,
                             struct cw_joint *joint, struct cw_error *error);
void cw_joint_free(struct cw_joint *joint);

/* Cuts the runs anew, in fronts of some so many coefficients (fit/pieces.h); cw_joint_make has cut
 * them in such as cost least. That is a question of time, and of nothing else. */
enum cw_status cw_joint_cut(struct cw_joint *joint, size_t coefficients, struct cw_error *error);

/* Whether runs differ in temperature. */
bool cw_joint_warms(const struct cw_joint *joint);
/* Crr of run i as it was ridden, at its temperature, from that of its tyres. */
double cw_joint_own_crr(const struct cw_joint *joint, size_t i, double crr);

/* Sets every run's factors from its basis motion and the basis values. */
void cw_joint_linearise(struct cw_joint *joint);

/* Sets the devices' lags and what depends on them (of a joint once linearised). A lag is no
 * unknown of the linear equations: the profile's own errors would pass for features that the lag
 * can be read from, and the lag would be claimed better known than it is. It is found with the
 * noise, by the likelihood that has the profile integrated out. */
void cw_joint_set_lags(struct cw_joint *joint, const double *lag_s);

/* The profile that run i rides over, in its own distances. */
const struct cw_profile *cw_joint_profile(const struct cw_joint *joint, size_t i);

/* -2 log restricted likelihood of the noise given subset (NULL: all runs, n of them), but for a
 * constant; NULL where only a summary is asked for, which takes less. The wind is taken as its
 * prior has it for all runs, as it was found for a subset. Where information is not NULL (allocated
 * for the joint's n_tyres and the subset's n), the summary too; where alone is not NULL (n of them,
 * for n_tyres and one run each), what each run says by itself: the summary of a subset of one.
 * CW_E_NUMERIC if the equations cannot be solved. */
enum cw_status cw_joint_evaluate(const struct cw_joint *joint, const size_t *subset, size_t n,
                                 const struct cw_noise *noise, double *minus_2_log_likelihood,
                                 struct cw_information *information, struct cw_information *alone,
                                 struct cw_error *error);

/* The same likelihood and its slope, the derivatives by the logarithms of the noise's parameters
 * and, behind them, by the devices' lags. Exact; it takes as long as some four evaluations. */
enum cw_status cw_joint_slope(const struct cw_joint *joint, const size_t *subset, size_t n,
                              const struct cw_noise *noise, double *minus_2_log_likelihood,
                              double *slope, struct cw_error *error);

/* Moves the basis values to the solution under noise (profiles, CdA, Crr, speed scales, bends,
 * wind), then each run's basis motion to the likeliest one given these, and linearises about them.
 * *change: the largest relative move of a run's CdA. */
enum cw_status cw_joint_advance(struct cw_joint *joint, const struct cw_noise *noise,
                                double *change, struct cw_error *error);

#endif
