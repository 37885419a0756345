#include "simulate/coast.h"

#include <math.h>
#include <stdlib.h>

#include "physics/forces.h"
#include "simulate/resistance.h"
#include "simulate/way.h"

#define STATE_STEP_S 0.5 /* of the descents' states and the wind's corners */
/* The radius for which the options say what a bend costs. */
#define BEND_RADIUS_M 100

/* How long a run may take: a quarter of an hour, and on a long road as long as at 10 m/s. */
static double time_limit_s(const struct cw_course *course) {
    return fmax(900, course->length_m / 10);
}

enum cw_status cw_coaster_open(const struct cw_simulate_options *options,
                               const struct cw_course *course, const struct cw_day *days,
                               struct cw_breeze *breeze, struct cw_simulated_run *runs,
                               struct cw_coaster *coaster, struct cw_error *error) {
    *coaster = (struct cw_coaster){.options = options,
                                   .course = course,
                                   .days = days,
                                   .runs = runs,
                                   .scatter = cw_random_make(options->seed, CW_STREAM_SCATTER),
                                   .brush = cw_random_make(options->seed, CW_STREAM_BRUSH)};
    if (!coaster->scatter.state || !coaster->brush.state) return cw_error_memory(error);
    return cw_wind_open(options, STATE_STEP_S, time_limit_s(course), breeze, &coaster->wind, error);
}

void cw_coaster_close(struct cw_coaster *coaster) {
    cw_random_free(&coaster->scatter);
    cw_random_free(&coaster->brush);
    cw_wind_close(&coaster->wind);
}

/* The wind's series, which blows against who rides down, as a headwind of the run. */
struct headwind {
    const struct cw_gust_series *series;
    int sign;
};

static double headwind_at(double time_s, const void *state) {
    const struct headwind *headwind = state;
    return headwind->sign * cw_gust_series_at(time_s, headwind->series);
}

/* The descent, without the brake and, where it is touched, once more with it: when it is touched
 * hangs on how long the run takes. */
static enum cw_status descend(struct cw_coaster *coaster, const struct headwind *headwind,
                              struct cw_simulated_run *run, struct cw_error *error) {
    const struct cw_simulate_options *options = coaster->options;
    const struct cw_day *day = &coaster->days[run->recording];
    struct cw_surroundings surroundings = {.density_kgm3 = day->density_kgm3,
                                           .gravity_ms2 = day->gravity_ms2,
                                           .wind_along_ms = run->way * options->wind_along_ms,
                                           .column = day->column};
    struct cw_bicycle bicycle = {.mass_kg = run->mass_kg,
                                 .cda_m2 = run->cda_m2,
                                 .crr = run->crr,
                                 .wheel_inertia_kgm2 = options->wheel_inertia_kgm2,
                                 .wheel_radius_m = options->wheel_radius_m};
    struct cw_resistance resistance = {.way = {coaster->course, run->way},
                                       .bend_ms2 = options->bend_crr * BEND_RADIUS_M *
                                                   day->gravity_ms2 / cw_inertia_factor(&bicycle)};
    struct cw_descent_road road = {cw_way_height, cw_way_sine, &resistance.way,
                                   coaster->course->length_m};
    struct cw_descent_options how = cw_descent_options_default();
    how.start_speed_ms = cw_simulate_start_speed(options, (size_t)(run - coaster->runs));
    how.step_s = STATE_STEP_S;
    how.time_limit_s = time_limit_s(coaster->course);
    how.gust = headwind_at;
    how.gust_state = headwind;
    how.gust_knot_s = headwind->series->step_s;
    how.brake = cw_resistance_ms2;
    how.brake_state = &resistance;
    enum cw_status status =
        cw_descent_run(&bicycle, &surroundings, &road, &how, &run->descent, error);
    if (status) return status;
    resistance.brush = cw_brush_draw(options, run->descent.end_time_s, &coaster->brush);
    run->brush_start_s = resistance.brush.start_s; /* on the run's clock until the ride sets it */
    run->brush_s = resistance.brush.duration_s;
    run->brush_ms2 = resistance.brush.mean_ms2;
    if (run->brush_s <= 0) return CW_OK;
    cw_descent_free(&run->descent);
    return cw_descent_run(&bicycle, &surroundings, &road, &how, &run->descent, error);
}

/* What wind and height were along the descent. */
static enum cw_status look_around(const struct cw_coaster *coaster, const struct headwind *headwind,
                                  struct cw_simulated_run *run, struct cw_error *error) {
    const struct cw_descent *descent = &run->descent;
    struct cw_way way = {coaster->course, run->way};
    run->gust_ms = malloc(descent->n * sizeof *run->gust_ms);
    run->height_m = malloc(descent->n * sizeof *run->height_m);
    if (!run->gust_ms || !run->height_m) return cw_error_memory(error);
    run->wind_ms = run->way * coaster->options->wind_along_ms;
    for (size_t i = 0; i < descent->n; i++) {
        run->gust_ms[i] = headwind_at(descent->time_s[i], headwind);
        run->height_m[i] = cw_way_height(descent->s_m[i], &way);
        run->wind_ms += run->gust_ms[i] / (double)descent->n;
    }
    return CW_OK;
}

enum cw_status cw_coaster_coast(size_t number, double clock_s, void *state,
                                struct cw_error *error) {
    struct cw_coaster *coaster = state;
    const struct cw_simulate_options *options = coaster->options;
    struct cw_simulated_run *run = &coaster->runs[number];
    const struct cw_simulate_setup *setup = &options->setups[options->order[number]];
    const struct cw_day *day = &coaster->days[run->recording];
    struct headwind headwind = {&coaster->wind.series, run->way};
    run->setup = options->order[number];
    run->mass_kg = options->rider_mass_kg + options->bike_mass_kg + setup->load_kg;
    run->crr = setup->crr * cw_crr_warmer(options->crr_fall_percent / 100,
                                          day->temperature_c - options->temperature_c);
    run->cda_m2 = setup->cda_m2 *
                  exp(options->cda_scatter_percent / 100 * cw_random_normal(&coaster->scatter));
    run->temperature_c = day->temperature_c;
    run->pressure_hpa = day->pressure_pa / 100;
    run->density_kgm3 = day->density_kgm3;
    enum cw_status status = cw_wind_begin(&coaster->wind, number, clock_s, error);
    if (!status) status = descend(coaster, &headwind, run, error);
    if (status) return status;
    if (run->descent.n < 2)
        return cw_error_set(error, CW_E_DATA, NULL, 0,
                            "run %zu does not start rolling: the road is too flat at its %s",
                            number + 1, run->way > 0 ? "top" : "end");
    status = look_around(coaster, &headwind, run, error);
    return status ? status : cw_wind_end(&coaster->wind, run->descent.end_time_s, error);
}
