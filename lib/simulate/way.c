#include "simulate/way.h"

double cw_way_course_m(const struct cw_way *way, double s_m) {
    return way->sign > 0 ? s_m : way->course->length_m - s_m;
}

double cw_way_sine(double s_m, const void *state) {
    const struct cw_way *way = state;
    return way->sign * cw_course_sine(way->course, cw_way_course_m(way, s_m));
}

double cw_way_height(double s_m, const void *state) {
    const struct cw_way *way = state;
    return cw_course_at(way->course, cw_way_course_m(way, s_m)).height_m;
}
