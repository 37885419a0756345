/* A road's equations, front by front (the frontal method: Irons, Int. J. Numer. Methods Eng. 2:5,
 * 1970). The unknowns of a front, in the order in which they stand in its equations:
 *
 *   states    of the runs that come over from the front before it, CW_STATES each
 *   nodes     coefficients of the profile that were not eliminated before it
 *   states    of the runs that pass on to the front after it
 *   border    what is no front's own: of runs in several pieces their offset, own wind and scale;
 * the mean second difference of the road; what roads share, and the data
 *
 * The first states and those nodes that no later piece touches are eliminated with it. A road with
 * one front has its nodes and the border. */
#ifndef CW_FIT_FRONT_H
#define CW_FIT_FRONT_H

#include <stdbool.h>
#include <stddef.h>

#include "fit/joint_equations.h"

/* Lays out a road's fronts for the runs of the subset, whose shapes are known; raises *most to the
 * unknowns of the largest. */
enum cw_status cw_front_plan(const struct cw_joint *joint, const size_t *subset, size_t n,
                             size_t road, struct cw_joint_workspace *workspace, size_t *most,
                             struct cw_error *error);

/* Eliminates a road's profile, and what of its runs goes with it; the rest joins what roads share.
 * Its runs have been whitened. */
enum cw_status cw_front_eliminate(const struct cw_joint *joint, const size_t *subset, size_t n,
                                  size_t road, const struct cw_noise *noise,
                                  struct cw_joint_workspace *workspace, struct cw_error *error);

/* Back, from what roads share to a road's profile: adds the corrections to the profile's
 * coefficients, and to scale (a recording each) those that went with the road's runs. Of rows that
 * were kept. shared: values of what roads share. */
enum cw_status cw_front_give_back(struct cw_joint *joint, size_t road,
                                  const struct cw_joint_workspace *workspace, const double *shared,
                                  double *scale, struct cw_error *error);

/* Back, from the moments of what roads share (layout.n square) to those of each piece's unknowns
 * (fit/joint_slope.c): moment[p], allocated here, n x n as its normal has them. Of rows that were
 * kept. Adds to slope what the likelihood answers to the noise by the road's profile. */
enum cw_status cw_front_moments(const struct cw_joint *joint, const size_t *subset, size_t n,
                                size_t road, const struct cw_noise *noise,
                                const struct cw_joint_workspace *workspace, const double *shared,
                                double **moment, double *slope, struct cw_error *error);

#endif
