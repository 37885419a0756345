/* What slows a coast besides rolling, drag, bearings and slope: a touch of the brake, and bends. */
#ifndef CW_SIMULATE_RESISTANCE_H
#define CW_SIMULATE_RESISTANCE_H

#include "simulate/course.h"
#include "simulate/options.h"
#include "simulate/random.h"
#include "simulate/way.h"

/* The brake is pressed and let go smoothly, as half a wave of a sine squared. */
struct cw_brush {
    double start_s, duration_s; /* from the run's beginning; 0 s long: the brake is not touched */
    double mean_ms2;
};

struct cw_resistance {
    struct cw_brush brush;
    struct cw_way way;
    double bend_ms2; /* in a bend of 1 m radius on the level */
};

/* A brush as the options have it, of a run that would last so long without; as many random numbers
 * are drawn whether the brake is touched or not. */
struct cw_brush cw_brush_draw(const struct cw_simulate_options *options, double duration_s,
                              struct cw_random *random);
/* Its deceleration, m/s2, at a time from the run's beginning. */
double cw_brush_ms2(const struct cw_brush *brush, double time_s);

/* All of it as a descent's brake (cw_brake); state is a struct cw_resistance. */
double cw_resistance_ms2(double time_s, double s_m, const void *state);

#endif
