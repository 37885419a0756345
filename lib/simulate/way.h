/* The road as a run sees it, which coasts it from its top to its end or back. */
#ifndef CW_SIMULATE_WAY_H
#define CW_SIMULATE_WAY_H

#include "simulate/course.h"

struct cw_way {
    const struct cw_course *course;
    int sign; /* 1: from the top to the end; -1: back */
};

/* Where on the course a run is that has come so far. */
double cw_way_course_m(const struct cw_way *way, double s_m);
/* As a descent's road wants them (struct cw_descent_road); state is a struct cw_way. */
double cw_way_sine(double s_m, const void *state);
double cw_way_height(double s_m, const void *state);

#endif
