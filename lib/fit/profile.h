/* The height profile of a road: a uniform cubic B-spline in along-road distance. */
#ifndef CW_FIT_PROFILE_H
#define CW_FIT_PROFILE_H

#include <stddef.h>

#include "base/error.h"

/* Of the knots of a road that is fitted. */
#define CW_PROFILE_SPACING_M 15

struct cw_profile {
    double start_m, spacing_m;
    size_t n; /* coefficients: one more than the knots' intervals plus two */
    double *coefficient_m;
};

/* A profile that reaches from low_m to high_m, all heights 0. Free with cw_profile_free. */
enum cw_status cw_profile_make(double low_m, double high_m, double spacing_m,
                               struct cw_profile *profile, struct cw_error *error);
/* Sets mirrored (all zero, or of as many coefficients) to the profile as who comes from the other
 * end counts, who is at mirror_m - s where it is at s. */
enum cw_status cw_profile_mirror(const struct cw_profile *profile, double mirror_m,
                                 struct cw_profile *mirrored, struct cw_error *error);
void cw_profile_free(struct cw_profile *profile);

/* The four coefficients that act at s_m: the first one's index, their weights for the height and
 * for dh/ds. Beyond the ends the outermost interval's cubic goes on.
 * (de Boor, A Practical Guide to Splines, 2001, ch. IX, uniform knots.) */
size_t cw_profile_weights(const struct cw_profile *profile, double s_m, double weight[4],
                          double slope_per_m[4]);
/* Where it ends. */
double cw_profile_end(const struct cw_profile *profile);
double cw_profile_height(const struct cw_profile *profile, double s_m);
double cw_profile_slope(const struct cw_profile *profile, double s_m);

/* Sets the coefficients to the smoothest curve through n heights (NaN ones are passed over), by
 * least squares with second differences of the coefficients ~ N(0, roughness_m). */
enum cw_status cw_profile_fit(struct cw_profile *profile, const double *s_m, const double *height_m,
                              size_t n, double height_sd_m, double roughness_m,
                              struct cw_error *error);

#endif
