#include "physics/descent.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <math.h>
#include <stdlib.h>

struct system {
    const struct cw_bicycle *bicycle;
    const struct cw_surroundings *surroundings;
    const struct cw_descent_road *road;
    const struct cw_descent_options *options;
};

/* The state: where and how fast. */
enum { S, V, STATES };

static double acceleration(const struct system *system, double time_s, const double y[]) {
    struct cw_surroundings here = *system->surroundings;
    if (system->options->gust)
        here.wind_along_ms += system->options->gust(time_s, system->options->gust_state);
    double sine = system->road->slope_ds(y[S], system->road->state);
    return cw_coast_acceleration(system->bicycle, &here, y[V], sine);
}

static int derivatives(double time_s, const double y[], double dydt[], void *parameters) {
    dydt[S] = y[V];
    dydt[V] = acceleration(parameters, time_s, y);
    return isfinite(dydt[V]) ? GSL_SUCCESS : GSL_EBADFUNC;
}

struct cw_descent_options cw_descent_options_default(void) {
    return (struct cw_descent_options){.step_s = 1, .relative_error = 1e-10, .time_limit_s = 3600};
}

static enum cw_status keep(struct cw_descent *descent, size_t *capacity,
                           const struct system *system, double time_s, const double y[],
                           struct cw_error *error) {
    if (descent->n == *capacity) {
        size_t wanted = *capacity ? 2 * *capacity : 128;
        double **columns[] = {&descent->time_s, &descent->s_m, &descent->speed_ms,
                              &descent->acceleration_ms2};
        for (size_t i = 0; i < sizeof columns / sizeof *columns; i++) {
            double *grown = realloc(*columns[i], wanted * sizeof *grown);
            if (!grown) return cw_error_memory(error);
            *columns[i] = grown;
        }
        *capacity = wanted;
    }
    descent->time_s[descent->n] = descent->end_time_s = time_s;
    descent->s_m[descent->n] = descent->end_s_m = y[S];
    descent->speed_ms[descent->n] = descent->end_speed_ms = y[V];
    descent->acceleration_ms2[descent->n] = acceleration(system, time_s, y);
    descent->n++;
    return CW_OK;
}

/* How far the state is past the end that it has passed: the road's end, or standstill. */
static double beyond(const struct system *system, bool standstill, const double y[]) {
    return standstill ? -y[V] : y[S] - system->road->length_m;
}

/* The accepted step from (time_s, y) to h_s later passed an end: finds by bisection and secants
 * the shorter step from the same state that lands on it. A single step shorter than an accepted
 * one is at least as accurate. y becomes the state at the end. */
static bool land(const struct system *system, gsl_odeiv2_step *stepper, gsl_odeiv2_system *ode,
                 bool standstill, double *time_s, double h_s, double y[]) {
    double start[STATES] = {y[S], y[V]}, ignored[STATES];
    double low = 0, high = h_s;
    double at_low = beyond(system, standstill, start), at_high = NAN;
    double trial = h_s;
    for (int i = 0; i < 200; i++) {
        y[S] = start[S];
        y[V] = start[V];
        gsl_odeiv2_step_reset(stepper);
        if (gsl_odeiv2_step_apply(stepper, *time_s, trial, y, ignored, NULL, NULL, ode))
            return false;
        double value = beyond(system, standstill, y);
        if (value > 0) {
            high = trial;
            at_high = value;
        } else {
            low = trial;
            at_low = value;
        }
        if (value == 0 || high - low <= 1e-14 * (1 + *time_s)) break;
        /* Every third try halves, so that a secant that creeps cannot last. */
        double secant = low + (high - low) * at_low / (at_low - at_high);
        bool usable = i % 3 != 2 && secant > low && secant < high;
        trial = usable ? secant : (low + high) / 2;
    }
    *time_s += trial;
    if (standstill)
        y[V] = 0;
    else
        y[S] = system->road->length_m;
    return true;
}

/* The next time that no step may reach across. */
static double next_corner(const struct cw_descent_options *options, double time_s) {
    if (!(options->gust && options->gust_knot_s > 0)) return INFINITY;
    double corner = (floor(time_s / options->gust_knot_s) + 1) * options->gust_knot_s;
    /* Rounding may leave time_s a hair before the corner it stands on. */
    return corner - time_s > 1e-9 * options->gust_knot_s ? corner : corner + options->gust_knot_s;
}

static enum cw_status integrate(struct system *system, gsl_odeiv2_step *stepper,
                                gsl_odeiv2_control *control, gsl_odeiv2_evolve *evolve,
                                struct cw_descent *descent, struct cw_error *error) {
    const struct cw_descent_options *options = system->options;
    gsl_odeiv2_system ode = {derivatives, NULL, STATES, system};
    double y[STATES] = {0, options->start_speed_ms}, time_s = 0, h_s = options->step_s / 16;
    size_t capacity = 0, outputs = 1;
    enum cw_status status = keep(descent, &capacity, system, time_s, y, error);
    if (status) return status;
    if (y[V] <= 0 && !(descent->acceleration_ms2[0] > 0)) {
        descent->stopped = true;
        return CW_OK;
    }
    while (time_s < options->time_limit_s) {
        double output_s = (double)outputs * options->step_s;
        double until_s = fmin(output_s, next_corner(options, time_s));
        double before_s = time_s, before[STATES] = {y[S], y[V]};
        if (gsl_odeiv2_evolve_apply(evolve, control, stepper, &ode, &time_s, until_s, &h_s, y) ||
            !isfinite(y[S]) || !isfinite(y[V]))
            return cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                                "the descent cannot be integrated beyond %.1f s", before_s);
        bool arrived = y[S] >= system->road->length_m, standstill = !arrived && y[V] <= 0;
        if (arrived || standstill) {
            double step_s = time_s - before_s;
            time_s = before_s;
            y[S] = before[S];
            y[V] = before[V];
            if (!land(system, stepper, &ode, standstill, &time_s, step_s, y))
                return cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                                    "the end of the descent after %.1f s cannot be found",
                                    before_s);
            descent->stopped = standstill;
            return keep(descent, &capacity, system, time_s, y, error);
        }
        if (time_s >= output_s) {
            outputs++;
            status = keep(descent, &capacity, system, time_s, y, error);
            if (status) return status;
        }
    }
    return cw_error_set(error, CW_E_DATA, NULL, 0,
                        "the descent reaches neither the road's end nor a standstill in %.0f s",
                        options->time_limit_s);
}

enum cw_status cw_descent_run(const struct cw_bicycle *bicycle,
                              const struct cw_surroundings *surroundings,
                              const struct cw_descent_road *road,
                              const struct cw_descent_options *options, struct cw_descent *descent,
                              struct cw_error *error) {
    *descent = (struct cw_descent){0};
    struct cw_descent_options fallback = cw_descent_options_default();
    if (!options) options = &fallback;
    if (!(bicycle->mass_kg > 0) || !(road->length_m > 0) || !(options->step_s > 0) ||
        !(options->relative_error > 0) || !(options->start_speed_ms >= 0))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "a descent needs a mass, a length, a step and an error above zero and "
                            "a start speed that is not negative");
    struct system system = {bicycle, surroundings, road, options};
    gsl_odeiv2_step *stepper = gsl_odeiv2_step_alloc(gsl_odeiv2_step_rk8pd, STATES);
    gsl_odeiv2_evolve *evolve = gsl_odeiv2_evolve_alloc(STATES);
    gsl_odeiv2_control *control =
        gsl_odeiv2_control_y_new(options->relative_error, options->relative_error);
    enum cw_status status = stepper && evolve && control
                                ? integrate(&system, stepper, control, evolve, descent, error)
                                : cw_error_memory(error);
    if (control) gsl_odeiv2_control_free(control);
    if (evolve) gsl_odeiv2_evolve_free(evolve);
    if (stepper) gsl_odeiv2_step_free(stepper);
    return status;
}

void cw_descent_free(struct cw_descent *descent) {
    free(descent->time_s);
    free(descent->s_m);
    free(descent->speed_ms);
    free(descent->acceleration_ms2);
    *descent = (struct cw_descent){0};
}
