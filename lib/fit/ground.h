/* What is known of a road's heights beside what its runs tell: that roads are smooth, and what a
 * map (or the word that the road is level) says.
 *
 * Smooth: the second differences of the profile's coefficients are N(mean, roughness_m), with a
 * mean of their own that is N(0, bend): a road may flatten all the way, which differences about 0
 * would pull straight. Neighbours are alike, exp(-distance/cw_ground_alike_m), for roads go over
 * from slope to slope in curves of some length. Taken for independent of each other they promise
 * waves of some dozens of metres that no road has; a recorder of good heights then shows none, is
 * taken to smooth them, and a lag that is not there goes into Crr (fit/README.md).
 *
 * A map's heights are wrong by the place and not by the time: the same at each pass. They are taken
 * once for the whole road, as an Ornstein-Uhlenbeck process along it about the true heights. That
 * limits what is known of the level of CdA, and leaves differences alone. A road that is said to be
 * level is a map of equal heights. */
#ifndef CW_FIT_GROUND_H
#define CW_FIT_GROUND_H

#include <stddef.h>

#include "fit/equations.h"
#include "fit/noise.h"
#include "fit/profile.h"

/* Over this far second differences are alike, m. Of 15, 30, 60 and 120 m, and none, 30 is what
 * ridden descents make likeliest, or near it: fit/README.md. */
extern const double cw_ground_alike_m;

/* A road's heights by a map, at coefficients first to first + n - 1 of its profile. Owns height_m;
 * n is 0 where there is none. */
struct cw_ground {
    size_t first, n;
    double *height_m;
};

/* The map that a profile was laid through, where runs reach from low_m to high_m. */
enum cw_status cw_ground_make(const struct cw_profile *profile, double low_m, double high_m,
                              struct cw_ground *ground, struct cw_error *error);
void cw_ground_free(struct cw_ground *ground);

/* Where a part of it stands in equations: what is said of the coefficients `from` up to `to` and of
 * the three behind each. `from` is the equations' unknown `at`, the others follow it; the mean
 * second difference is their unknown `bend`. */
struct cw_ground_place {
    size_t from, to, at, bend;
};

/* Adds it to equations of corrections to the profile's coefficients, and to log_det what normalises
 * it: -2 log of the densities is to be compared between noises. */
void cw_ground_add(const struct cw_ground *ground, const struct cw_profile *profile,
                   const struct cw_noise *noise, const struct cw_ground_place *place,
                   struct cw_equations *e, double *log_det);
/* The same of the mean second difference, once a road. */
void cw_ground_add_bend(size_t bend, struct cw_equations *e, double *log_det);

#endif
