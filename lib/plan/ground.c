#include "plan/ground.h"

#include <math.h>

#include "fit/workings.h"

/* How far a road from segments goes on at both ends: past where trial steps ask. */
static const double beyond_m = 200;

enum cw_status cw_plan_ground_make(const struct cw_simulate_options *options,
                                   const struct cw_fit *fit, struct cw_plan_ground *ground,
                                   struct cw_error *error) {
    *ground = (struct cw_plan_ground){.fit = fit, .on_from_m = INFINITY};
    if (fit) {
        if (!cw_mean_run_make(fit, &ground->ridden))
            return cw_error_set(error, CW_E_DATA, fit->of.outing->file, 0,
                                "no run of it tells the road");
        ground->length_m = ground->ridden.length_m;
    } else {
        enum cw_status status = cw_course_make(options, beyond_m, beyond_m, &ground->course, error);
        if (status < 0) return status;
        ground->length_m = ground->course.length_m;
    }
    ground->drop_m =
        cw_plan_ground_height(0, ground) - cw_plan_ground_height(ground->length_m, ground);
    ground->middle_height_m = cw_plan_ground_height(0, ground) - ground->drop_m / 2;
    return CW_OK;
}

void cw_plan_ground_free(struct cw_plan_ground *ground) {
    cw_course_free(&ground->course);
    *ground = (struct cw_plan_ground){0};
}

struct cw_plan_ground cw_plan_ground_on(const struct cw_plan_ground *ground, double slope,
                                        double length_m) {
    struct cw_plan_ground on = *ground;
    on.on_from_m = ground->length_m;
    on.on_slope = slope;
    on.length_m += length_m;
    on.drop_m -= slope * length_m;
    return on;
}

double cw_plan_ground_height(double s_m, const void *state) {
    const struct cw_plan_ground *ground = state;
    if (s_m > ground->on_from_m)
        return cw_plan_ground_height(ground->on_from_m, state) +
               ground->on_slope / hypot(1, ground->on_slope) * (s_m - ground->on_from_m);
    return ground->fit ? cw_profile_height(ground->ridden.profile, ground->ridden.start_m + s_m)
                       : cw_course_at(&ground->course, s_m).height_m;
}

double cw_plan_ground_sine(double s_m, const void *state) {
    const struct cw_plan_ground *ground = state;
    if (s_m > ground->on_from_m) return ground->on_slope / hypot(1, ground->on_slope);
    return ground->fit ? cw_profile_slope(ground->ridden.profile, ground->ridden.start_m + s_m)
                       : cw_course_sine(&ground->course, s_m);
}

double cw_plan_ground_curve(const struct cw_plan_ground *ground, double s_m) {
    if (s_m > ground->on_from_m) return 0;
    return ground->fit ? cw_road_curvature(&ground->fit->workings->roads[CW_ROAD_MAIN],
                                           ground->ridden.start_m + s_m)
                       : fabs(cw_course_curve(&ground->course, s_m));
}

double cw_plan_ground_roughness(const struct cw_plan_ground *ground) {
    const double step_m = CW_PROFILE_SPACING_M;
    double n = 0, sum = 0, squares = 0;
    for (double s_m = step_m; s_m + step_m <= ground->length_m; s_m += step_m) {
        double second_m = cw_plan_ground_height(s_m - step_m, ground) -
                          2 * cw_plan_ground_height(s_m, ground) +
                          cw_plan_ground_height(s_m + step_m, ground);
        n++;
        sum += second_m;
        squares += second_m * second_m;
    }
    return n > 1 ? sqrt(fmax(0, squares - sum * sum / n) / (n - 1)) : 0;
}

struct cw_descent_road cw_plan_ground_road(const struct cw_plan_ground *ground) {
    return (struct cw_descent_road){cw_plan_ground_height, cw_plan_ground_sine, ground,
                                    ground->length_m};
}
