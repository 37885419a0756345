/* The road that is to be coasted: laid out from segments, or as an earlier outing's fit has it. */
#ifndef CW_PLAN_GROUND_H
#define CW_PLAN_GROUND_H

#include "base/error.h"
#include "compare/elsewhere.h"
#include "fit/fit.h"
#include "physics/descent.h"
#include "simulate/course.h"

struct cw_plan_ground {
    struct cw_course course;   /* from segments; length_m is 0 where the road is a fit's */
    struct cw_mean_run ridden; /* of a fit */
    const struct cw_fit *fit;  /* borrowed; NULL: from segments */
    double length_m, middle_height_m, drop_m;
    double on_from_m, on_slope; /* from there on it goes straight on at that; infinite: nowhere */
};

/* fit: whose main road it is, or NULL; the options must outlive the ground. Free with
 * cw_plan_ground_free, also after an error. CW_E_DATA where the fit has no such road. */
enum cw_status cw_plan_ground_make(const struct cw_simulate_options *options,
                                   const struct cw_fit *fit, struct cw_plan_ground *ground,
                                   struct cw_error *error);
void cw_plan_ground_free(struct cw_plan_ground *ground);
/* The same, going on at a slope for so far behind its end. Borrows from the ground, which must
 * outlive it; not to be freed. */
struct cw_plan_ground cw_plan_ground_on(const struct cw_plan_ground *ground, double slope,
                                        double length_m);

/* The road as a descent sees it; state is the ground. */
struct cw_descent_road cw_plan_ground_road(const struct cw_plan_ground *ground);
double cw_plan_ground_height(double s_m, const void *ground);
double cw_plan_ground_sine(double s_m, const void *ground);
/* How rough it is, as the fit's noise has it (fit/noise.h): rms of the second differences of its
 * heights from knot to knot, about their mean. */
double cw_plan_ground_roughness(const struct cw_plan_ground *ground);
/* 1/radius. */
double cw_plan_ground_curve(const struct cw_plan_ground *ground, double s_m);

#endif
