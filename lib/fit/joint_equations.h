/* The joint equations of runs, put together and solved step by step (fit/joint.h says in which
 * order): what evaluating, advancing and the slope of the likelihood have in common. A road's are
 * in fit/front.h. */
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
 * of the subset that has it. They are eliminated with the run: with its piece, if that is one, and
 * else with its road's border; they have no place in what roads share. */
enum { CW_JOINT_OWN = CW_OWN + 1 };
#define CW_JOINT_NOWHERE SIZE_MAX

/* A front of a road (fit/front.h): its coefficients from `first` on, `gone` of which are eliminated
 * with it, and the states of runs where it begins and ends. */
struct cw_front {
    size_t first, n_nodes, gone, n_in, n_out;
    size_t n;    /* unknowns, with the border and the data */
    double *row; /* where rows are kept: of the n_in + gone eliminated ones, n numbers each */
};

/* The fronts of a road; n is 0 where it has no run of the subset. In their border stand what runs
 * have of their own, n_own, the mean second difference, and from `shared` on what roads share. */
struct cw_fronts {
    size_t n, n_own, shared;
    struct cw_front *front;
    double *row; /* where rows are kept: of the border's first n_own + 1 */
};

struct cw_joint_workspace {
    struct cw_joint_layout layout;
    struct cw_equations run, front, behind, shared;
    double *row;
    size_t *scale_of;   /* a recording each: its scale among those that runs share, or
                         * CW_JOINT_NOWHERE: it goes with its run */
    size_t *recording;  /* a scale each: the recording it is of */
    double own_wind_ms; /* a run's own wind, an sd; 0: held */
    double log_det;
    struct cw_fronts *road;       /* a road each */
    struct cw_normal *normal;     /* a piece each: its shape, and once it is whitened its product */
    struct cw_places *places;     /* a piece each, for the filter's way back; NULL: none are kept */
    const struct cw_normal *lent; /* products that are somebody else's; NULL: none are */
    size_t *crossing; /* a piece each: which it is of the runs that pass on where it ends */
    size_t *own_at; /* CW_JOINT_OWN a run of the subset: where in its road's border its own unknowns
                     * stand, or CW_JOINT_NOWHERE */
    bool keeps;     /* the rows of eliminated unknowns, for the way back */
    double *own;    /* of those that went with a piece, CW_JOINT_OWN a run, `most` apart */
    size_t most;    /* unknowns and data of a piece, at most */
};

/* For subset (NULL: the joint's first n runs, which are all), at the linearisation as it is. keeps:
 * rows of what is eliminated. Free with cw_joint_workspace_free. */
enum cw_status cw_joint_workspace_alloc(const struct cw_joint *joint, const size_t *subset,
                                        size_t n, bool keeps, struct cw_joint_workspace *workspace,
                                        struct cw_error *error);
void cw_joint_workspace_free(const struct cw_joint *joint, struct cw_joint_workspace *workspace);

/* Products of the subset's pieces that are known already, which are not whitened again; lent: all
 * of the joint's pieces, without a product where it is not known. It is borrowed. */
void cw_joint_lend(const struct cw_joint *joint, const size_t *subset, size_t n,
                   const struct cw_normal *lent, struct cw_joint_workspace *workspace);

static inline size_t cw_joint_run_of(const size_t *subset, size_t slot) {
    return subset ? subset[slot] : slot;
}
/* Whether an unknown of run i is its own. */
bool cw_joint_is_own(const struct cw_joint *joint, const struct cw_joint_workspace *workspace,
                     size_t i, enum cw_tail tail);
/* Whether an unknown of run i is eliminated with that piece. */
bool cw_joint_with_piece(const struct cw_joint *joint, const struct cw_joint_workspace *workspace,
                         size_t i, size_t piece, enum cw_tail tail);
/* The row, kept, of such an unknown of the subset's run slot: as many numbers as the piece has
 * unknowns, and data. */
double *cw_joint_own(const struct cw_joint_workspace *workspace, size_t slot, enum cw_tail tail);
/* Where an unknown of a run's tail stands in its road's border. */
size_t cw_joint_border(const struct cw_joint *joint, const struct cw_joint_workspace *workspace,
                       size_t i, size_t slot, enum cw_tail tail);

/* What is known beforehand of a run's own unknown, and its basis value. */
struct cw_prior cw_joint_own_prior(const struct cw_joint *joint,
                                   const struct cw_joint_workspace *workspace, size_t i,
                                   enum cw_tail tail, double *basis);
/* A prior of what may not be asked for: then it is held. */
struct cw_prior cw_joint_held(struct cw_prior prior);

/* Whitens what is not lent of the subset's runs. On return profiles and scales are eliminated;
 * below them workspace->shared holds the equations of bends, wind, Crr and CdA. */
enum cw_status cw_joint_assemble(const struct cw_joint *joint, const size_t *subset, size_t n,
                                 const struct cw_noise *noise, struct cw_joint_workspace *workspace,
                                 struct cw_error *error);
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
