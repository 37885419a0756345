#include "simulate/resistance.h"

#include <math.h>

#define PI 3.14159265358979323846

/* In which part of the run the brake is touched: not at its beginning, where few would, nor where
 * the end is braked anyhow. */
#define EARLIEST 0.2
#define LATEST 0.7

struct cw_brush cw_brush_draw(const struct cw_simulate_options *options, double duration_s,
                              struct cw_random *random) {
    bool touched = cw_random_even(random, 0, 1) < options->brush_share;
    double place = cw_random_even(random, EARLIEST, LATEST);
    double longer = cw_random_even(random, 2.0 / 3, 4.0 / 3);
    double harder = cw_random_even(random, 2.0 / 3, 4.0 / 3);
    if (!touched) return (struct cw_brush){0};
    return (struct cw_brush){.start_s = place * duration_s,
                             .duration_s = longer * options->brush_s,
                             .mean_ms2 = harder * options->brush_ms2};
}

double cw_brush_ms2(const struct cw_brush *brush, double time_s) {
    double past_s = time_s - brush->start_s;
    if (past_s <= 0 || past_s >= brush->duration_s) return 0;
    double wave = sin(PI * past_s / brush->duration_s);
    return 2 * brush->mean_ms2 * wave * wave;
}

double cw_resistance_ms2(double time_s, double s_m, const void *state) {
    const struct cw_resistance *resistance = state;
    double brake_ms2 = cw_brush_ms2(&resistance->brush, time_s);
    if (resistance->bend_ms2 <= 0) return brake_ms2;
    double along_m = cw_way_course_m(&resistance->way, s_m);
    double sine = cw_course_sine(resistance->way.course, along_m);
    double curve_1m = cw_course_curve(resistance->way.course, along_m);
    return brake_ms2 + resistance->bend_ms2 * fabs(curve_1m) * sqrt(1 - sine * sine);
}
