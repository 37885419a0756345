#include "simulate/course.h"

#include <math.h>
#include <stdlib.h>

#define RADIAN (3.14159265358979323846 / 180)

/* From 0 to 1 with no corner at either end. */
static double smooth(double u) {
    if (u <= 0) return 0;
    if (u >= 1) return 1;
    return u * u * (3 - 2 * u);
}

static double segment_sine(const struct cw_simulate_segment *segment) {
    return sin(atan(segment->slope_percent / 100));
}

double cw_course_sine(const struct cw_course *course, double s_m) {
    const struct cw_simulate_options *options = course->options;
    double sine = segment_sine(&options->segments[0]), end_m = 0;
    for (size_t i = 1; i < options->n_segments; i++) {
        end_m += options->segments[i - 1].length_m;
        double u = (s_m - end_m) / options->transition_m + 0.5;
        if (u <= 0) break;
        sine += smooth(u) *
                (segment_sine(&options->segments[i]) - segment_sine(&options->segments[i - 1]));
    }
    return sine;
}

double cw_course_heading(const struct cw_course *course, double s_m) {
    const struct cw_simulate_options *options = course->options;
    double heading_deg = options->heading_deg, begin_m = 0;
    for (size_t i = 0; i < options->n_segments && s_m > begin_m; i++) {
        const struct cw_simulate_segment *segment = &options->segments[i];
        heading_deg += segment->turn_deg * smooth((s_m - begin_m) / segment->length_m);
        begin_m += segment->length_m;
    }
    return heading_deg * RADIAN;
}

double cw_course_curve(const struct cw_course *course, double s_m) {
    const struct cw_simulate_options *options = course->options;
    double begin_m = 0;
    for (size_t i = 0; i < options->n_segments && s_m > begin_m; i++) {
        const struct cw_simulate_segment *segment = &options->segments[i];
        double u = (s_m - begin_m) / segment->length_m;
        if (u < 1) return segment->turn_deg * RADIAN * 6 * u * (1 - u) / segment->length_m;
        begin_m += segment->length_m;
    }
    return 0;
}

/* d(height, east, north)/ds. */
static struct cw_course_point direction(const struct cw_course *course, double s_m) {
    double sine = cw_course_sine(course, s_m);
    double cosine = sqrt(1 - sine * sine);
    double heading = cw_course_heading(course, s_m);
    return (struct cw_course_point){sine, cosine * sin(heading), cosine * cos(heading)};
}

/* Sums the directions with Simpson's rule from point to point, then moves the origin to s = 0. */
static void fill(struct cw_course *course) {
    struct cw_course_point left = direction(course, course->from_m);
    course->height_m[0] = course->east_m[0] = course->north_m[0] = 0;
    for (size_t i = 1; i < course->n; i++) {
        double s_m = course->from_m + (double)i;
        struct cw_course_point middle = direction(course, s_m - 0.5);
        struct cw_course_point right = direction(course, s_m);
        course->height_m[i] =
            course->height_m[i - 1] + (left.height_m + 4 * middle.height_m + right.height_m) / 6;
        course->east_m[i] =
            course->east_m[i - 1] + (left.east_m + 4 * middle.east_m + right.east_m) / 6;
        course->north_m[i] =
            course->north_m[i - 1] + (left.north_m + 4 * middle.north_m + right.north_m) / 6;
        left = right;
    }
    struct cw_course_point top = cw_course_at(course, 0);
    for (size_t i = 0; i < course->n; i++) {
        course->height_m[i] += course->options->height_m - top.height_m;
        course->east_m[i] -= top.east_m;
        course->north_m[i] -= top.north_m;
    }
}

enum cw_status cw_course_make(const struct cw_simulate_options *options, double before_m,
                              double beyond_m, struct cw_course *course, struct cw_error *error) {
    *course = (struct cw_course){.options = options, .from_m = -ceil(before_m)};
    for (size_t i = 0; i < options->n_segments; i++)
        course->length_m += options->segments[i].length_m;
    course->n = (size_t)ceil(course->length_m + beyond_m - course->from_m) + 2;
    course->height_m = malloc(course->n * sizeof *course->height_m);
    course->east_m = malloc(course->n * sizeof *course->east_m);
    course->north_m = malloc(course->n * sizeof *course->north_m);
    if (!course->height_m || !course->east_m || !course->north_m) return cw_error_memory(error);
    fill(course);
    return CW_OK;
}

void cw_course_free(struct cw_course *course) {
    free(course->height_m);
    free(course->east_m);
    free(course->north_m);
    *course = (struct cw_course){0};
}

/* Hermite's cubic over one metre. */
static double cubic(double u, double a, double slope_a, double b, double slope_b) {
    double v = 1 - u;
    return a * v * v * (1 + 2 * u) + b * u * u * (1 + 2 * v) + slope_a * u * v * v -
           slope_b * u * u * v;
}

struct cw_course_point cw_course_at(const struct cw_course *course, double s_m) {
    double place = s_m - course->from_m;
    size_t i = place > 0 ? (size_t)place : 0;
    if (i > course->n - 2) i = course->n - 2;
    double u = place - (double)i;
    struct cw_course_point a = direction(course, course->from_m + (double)i);
    struct cw_course_point b = direction(course, course->from_m + (double)i + 1);
    return (struct cw_course_point){
        cubic(u, course->height_m[i], a.height_m, course->height_m[i + 1], b.height_m),
        cubic(u, course->east_m[i], a.east_m, course->east_m[i + 1], b.east_m),
        cubic(u, course->north_m[i], a.north_m, course->north_m[i + 1], b.north_m)};
}
