/* A line on the ground: points with distance along it. */
#ifndef CW_ROAD_LINE_H
#define CW_ROAD_LINE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

struct cw_line {
    size_t n;
    double *s_m, *east_m, *north_m;
};

/* The line through points (at least 2) that come at increasing at_m, about every spacing_m,
 * smoothed (cw_spline_make) and measured anew from 0. Between points far apart it bends like a
 * road, not like chords. CW_E_DATA where it would be of more than 1e6 points. Free with
 * cw_line_free. */
enum cw_status cw_line_smooth(size_t n, const double *at_m, const double *east_m,
                              const double *north_m, double spacing_m, double smooth_m,
                              struct cw_line *line, struct cw_error *error);

/* Measures s_m anew and lays the points evenly, about every spacing_m. CW_E_DATA as above. */
enum cw_status cw_line_resample(struct cw_line *line, double spacing_m, struct cw_error *error);

/* The place on the line where a point belongs that is expected at near_m: s and the distance to the
 * left of the line. It is the nearest place within reach_m of near_m, where those more than
 * slack_m from near_m count as that much farther away; so a point between the arms of a hairpin
 * goes to the arm it is expected on. Beyond its ends the line goes on straight. */
void cw_line_project(const struct cw_line *line, double east_m, double north_m, double near_m,
                     double reach_m, double slack_m, double *s_m, double *left_m);

/* The point at s; beyond the ends straight on. */
void cw_line_at(const struct cw_line *line, double s_m, double *east_m, double *north_m);

void cw_line_free(struct cw_line *line);

#endif
