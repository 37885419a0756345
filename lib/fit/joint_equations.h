/* The joint equations of runs, put together and solved step by step (fit/joint.h says in which
 * order): what evaluating, advancing and the slope of the likelihood have in common. */
#ifndef CW_FIT_JOINT_EQUATIONS_H
#define CW_FIT_JOINT_EQUATIONS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "fit/joint.h"

/* Unknowns shared by roads, in their order of elimination. */
struct cw_joint_layout {
    size_t scale, bends, wind, crr, cda, data, n;
};

/* A run's own unknowns: those of enum cw_tail, and its recording's scale where it is the only run
 * of the subset that has it. They are eliminated with the run, and have no place in the road's. */
enum { CW_JOINT_OWN = CW_OWN + 1 };
#define CW_JOINT_WITH_RUN SIZE_MAX

struct cw_joint_workspace {
    struct cw_joint_layout layout;
    struct cw_equations run, profile, shared;
    double *row;
    size_t *scale_of;   /* a recording each: its scale among those that runs share, or
                         * CW_JOINT_WITH_RUN */
    size_t *recording;  /* a scale each: the recording it is of */
    double own_wind_ms; /* a run's own wind, an sd; 0: held */
    double log_det;
    /* For the way back, where cw_joint_keep asked for it: the rows of eliminated unknowns. */
    struct cw_equations *kept; /* a road each: those of its profile, as many as that has */
    double *own;               /* a run each: those of its own nuisances, in their order */
    size_t most;               /* unknowns and data of a run, at most: what rows of own are apart */
};

/* For subset (NULL: the joint's first n runs, which are all). Free with cw_joint_workspace_free. */
enum cw_status cw_joint_workspace_alloc(const struct cw_joint *joint, const size_t *subset,
                                        size_t n, struct cw_joint_workspace *workspace,
                                        struct cw_error *error);
void cw_joint_workspace_free(const struct cw_joint *joint, struct cw_joint_workspace *workspace);
/* Has rows kept: those of profiles, and those of the runs' own. */
enum cw_status cw_joint_keep(const struct cw_joint *joint, size_t n,
                             struct cw_joint_workspace *workspace, struct cw_error *error);
/* Whether an unknown of run i is its own. */
bool cw_joint_with_run(const struct cw_joint *joint, const struct cw_joint_workspace *workspace,
                       size_t i, enum cw_tail tail);
/* The row, kept, of such an unknown of the subset's run slot: as many numbers as the run has
 * unknowns, and data. */
const double *cw_joint_own(const struct cw_joint_workspace *workspace, size_t slot,
                           enum cw_tail tail);

/* The coefficients that run i touches, and with that the shape of its equations. */
struct cw_normal cw_joint_normal(const struct cw_joint *joint, size_t i);
/* Where a run's unknowns after its profile stand in its road's equations; slot: its place in the
 * subset. Those of its own stand nowhere. */
void cw_joint_tail_to(const struct cw_joint *joint, const struct cw_joint_workspace *workspace,
                      size_t i, size_t slot, size_t to[CW_TAIL]);

/* On return profiles and scales are eliminated; below them workspace->shared holds the equations of
 * bends, wind, Crr and CdA. alone: as for cw_joint_evaluate. */
enum cw_status cw_joint_assemble(const struct cw_joint *joint, const size_t *subset, size_t n,
                                 const struct cw_noise *noise, struct cw_information *alone,
                                 struct cw_joint_workspace *workspace, struct cw_error *error);
/* A prior of what may not be asked for: then it is held. */
struct cw_prior cw_joint_held(struct cw_prior prior);
/* Eliminates what all runs of an outing share: what bends cost, and the wind. */
enum cw_status cw_joint_integrate_outing(const struct cw_joint *joint, struct cw_prior wind,
                                         struct cw_joint_workspace *workspace,
                                         struct cw_error *error);
/* Eliminates what is left, Crr and CdA, with the priors that steady the search. */
enum cw_status cw_joint_finish(const struct cw_joint *joint, const size_t *subset, size_t n,
                               struct cw_joint_workspace *workspace, struct cw_error *error);

/* All of it, as cw_joint_evaluate has it. */
enum cw_status cw_joint_likelihood(const struct cw_joint *joint, const size_t *subset, size_t n,
                                   const struct cw_noise *noise,
                                   struct cw_joint_workspace *workspace,
                                   struct cw_information *information, struct cw_information *alone,
                                   double *minus_2_log_likelihood, struct cw_error *error);

enum cw_status cw_joint_no_solution(struct cw_error *error);

#endif
