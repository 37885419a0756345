#include "physics/descent.h"

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

/* More steps than any descent needs: what asks for more would not end. */
#define MOST_STEPS 1000000

static double acceleration(const struct system *system, double time_s, const double y[]) {
    struct cw_surroundings here = *system->surroundings;
    if (here.column.cooling_1m > 0)
        here = cw_surroundings_at(&here, system->road->height_m(y[S], system->road->state));
    if (system->options->gust)
        here.wind_along_ms += system->options->gust(time_s, system->options->gust_state);
    double sine = system->road->slope_ds(y[S], system->road->state);
    double braked_ms2 = system->options->brake
                            ? system->options->brake(time_s, y[S], system->options->brake_state)
                            : 0;
    return cw_coast_acceleration(system->bicycle, &here, y[V], sine) +
           cw_power_acceleration(system->bicycle, system->options->power_w, y[V]) - braked_ms2;
}

/* One step of h_s from y to `to` by the Runge-Kutta pair of orders 5 and 4 of Dormand & Prince 1980
 * (J. Comput. Appl. Math. 6:19, table 2). Returns the difference of the two in units of what is
 * allowed, relative_error of 1 and of the state; NaN where the forces are not finite. */
static double take_step(const struct system *system, double time_s, const double y[], double h_s,
                        double to[]) {
    enum { STAGES = 7 };
    static const double at[STAGES] = {0, 1.0 / 5, 3.0 / 10, 4.0 / 5, 8.0 / 9, 1, 1};
    static const double by[STAGES][STAGES - 1] = {
        {0},
        {1.0 / 5},
        {3.0 / 40, 9.0 / 40},
        {44.0 / 45, -56.0 / 15, 32.0 / 9},
        {19372.0 / 6561, -25360.0 / 2187, 64448.0 / 6561, -212.0 / 729},
        {9017.0 / 3168, -355.0 / 33, 46732.0 / 5247, 49.0 / 176, -5103.0 / 18656},
        {35.0 / 384, 0, 500.0 / 1113, 125.0 / 192, -2187.0 / 6784, 11.0 / 84}};
    static const double fourth[STAGES] = {
        5179.0 / 57600, 0, 7571.0 / 16695, 393.0 / 640, -92097.0 / 339200, 187.0 / 2100, 1.0 / 40};
    double rate[STAGES][STATES], low[STATES] = {y[S], y[V]}, off = 0;
    for (int k = 0; k < STAGES; k++) {
        to[S] = y[S];
        to[V] = y[V];
        for (int j = 0; j < k; j++)
            for (int i = 0; i < STATES; i++) to[i] += h_s * by[k][j] * rate[j][i];
        rate[k][S] = to[V];
        rate[k][V] = acceleration(system, time_s + at[k] * h_s, to);
        for (int i = 0; i < STATES; i++) low[i] += h_s * fourth[k] * rate[k][i];
    }
    for (int i = 0; i < STATES; i++) {
        double part = fabs(to[i] - low[i]) / (system->options->relative_error * (1 + fabs(to[i])));
        off = part <= off ? off : part; /* not fmax, which would lose what is not a number */
    }
    return off;
}

/* A step of at most *h_s and not beyond until_s that keeps to the error allowed; *h_s becomes what
 * the next may try. False where no step does. */
static bool advance(const struct system *system, double *time_s, double until_s, double *h_s,
                    double y[]) {
    for (;;) {
        double left = until_s - *time_s, h = fmin(*h_s, left), to[STATES];
        double off = take_step(system, *time_s, y, h, to);
        double factor = fmin(5, fmax(0.2, 0.9 * pow(off, -0.2)));
        if (off <= 1) {
            /* A step cut short by until_s says little of how long one may be. */
            if (h == *h_s || factor < 1) *h_s = h * factor;
            *time_s = h == left ? until_s : *time_s + h;
            y[S] = to[S];
            y[V] = to[V];
            return true;
        }
        *h_s = h * (isnan(off) ? 0.2 : factor);
        if (*h_s < 1e-12 * (1 + *time_s)) return false;
    }
}

struct cw_descent_options cw_descent_options_default(void) {
    return (struct cw_descent_options){.step_s = 1, .relative_error = 1e-12, .time_limit_s = 3600};
}

static enum cw_status keep(struct cw_descent *descent, size_t *capacity,
                           const struct system *system, double time_s, const double y[],
                           struct cw_error *error) {
    descent->end_time_s = time_s;
    descent->end_s_m = y[S];
    descent->end_speed_ms = y[V];
    if (system->options->ends_only) return CW_OK;
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
    descent->time_s[descent->n] = time_s;
    descent->s_m[descent->n] = y[S];
    descent->speed_ms[descent->n] = y[V];
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
static void land(const struct system *system, bool standstill, double *time_s, double h_s,
                 double y[]) {
    const double start[STATES] = {y[S], y[V]};
    double low = 0, high = h_s;
    double at_low = beyond(system, standstill, start), at_high = NAN;
    double trial = h_s;
    for (int i = 0; i < 200; i++) {
        take_step(system, *time_s, start, trial, y);
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
}

/* Keeps the fastest state yet of the step from before_s to after_s: its end, or where within it the
 * speed turns, by the cubics that have both ends' speeds and accelerations. */
static void note_top(const struct system *system, double before_s, const double before[],
                     double after_s, const double after[], struct cw_descent *descent) {
    double top = descent->top_speed_ms, h_s = after_s - before_s, u = 1;
    if (after[V] < top && before[V] < top) return;
    double a = acceleration(system, before_s, before) * h_s,
           b = acceleration(system, after_s, after) * h_s, gain = after[V] - before[V];
    if (a > 0 && b < 0) {
        /* v = v0 + a u + (3 gain - 2 a - b) u2 + (a + b - 2 gain) u3 */
        double square = 3 * (a + b - 2 * gain), linear = 2 * (3 * gain - 2 * a - b);
        double root = -linear + sqrt(fmax(0, linear * linear - 4 * square * a));
        if (root > 0 && 2 * a <= root) u = 2 * a / root; /* where square is 0 too */
    }
    double v = before[V] + u * (a + u * (3 * gain - 2 * a - b + u * (a + b - 2 * gain)));
    if (u == 1) v = after[V];
    if (!(v > top)) return;
    double way = after[S] - before[S], from = before[V] * h_s, to = after[V] * h_s;
    descent->top_speed_ms = v;
    descent->top_time_s = before_s + u * h_s;
    descent->top_s_m =
        before[S] + u * (from + u * (3 * way - 2 * from - to + u * (from + to - 2 * way)));
}

/* The next time that no step may reach across. */
static double next_corner(const struct cw_descent_options *options, double time_s) {
    if (!(options->gust && options->gust_knot_s > 0)) return INFINITY;
    double corner = (floor(time_s / options->gust_knot_s) + 1) * options->gust_knot_s;
    /* Rounding may leave time_s a hair before the corner it stands on. */
    return corner - time_s > 1e-9 * options->gust_knot_s ? corner : corner + options->gust_knot_s;
}

static enum cw_status integrate(const struct system *system, struct cw_descent *descent,
                                struct cw_error *error) {
    const struct cw_descent_options *options = system->options;
    double y[STATES] = {0, options->start_speed_ms}, time_s = 0, h_s = options->step_s / 16;
    size_t capacity = 0, outputs = 0;
    double first_s = options->first_s > 0 ? options->first_s : options->step_s;
    enum cw_status status = keep(descent, &capacity, system, time_s, y, error);
    if (status) return status;
    descent->top_speed_ms = y[V];
    if (y[V] <= 0 && !(acceleration(system, time_s, y) > 0)) {
        descent->stopped = true;
        return CW_OK;
    }
    for (size_t steps = 0; time_s < options->time_limit_s; steps++) {
        double output_s = first_s + (double)outputs * options->step_s;
        double until_s = fmin(output_s, next_corner(options, time_s));
        double before_s = time_s, before[STATES] = {y[S], y[V]};
        if (steps > MOST_STEPS || !advance(system, &time_s, until_s, &h_s, y))
            return cw_error_set(error, CW_E_NUMERIC, NULL, 0,
                                "the descent cannot be integrated beyond %.1f s", before_s);
        bool arrived = y[S] >= system->road->length_m, standstill = !arrived && y[V] <= 0;
        if (arrived || standstill) {
            double step_s = time_s - before_s;
            time_s = before_s;
            y[S] = before[S];
            y[V] = before[V];
            land(system, standstill, &time_s, step_s, y);
            descent->stopped = standstill;
            note_top(system, before_s, before, time_s, y, descent);
            return keep(descent, &capacity, system, time_s, y, error);
        }
        note_top(system, before_s, before, time_s, y, descent);
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
        !isfinite(options->step_s) || !(options->relative_error > 0) ||
        !(options->start_speed_ms >= 0) || !(options->power_w >= 0) || !(options->first_s >= 0))
        return cw_error_set(
            error, CW_E_ARGUMENT, NULL, 0,
            "a descent needs a mass, a length, a step and an error above zero and "
            "a start speed, a power and a first state's time that are not negative");
    struct system system = {bicycle, surroundings, road, options};
    return integrate(&system, descent, error);
}

void cw_descent_free(struct cw_descent *descent) {
    free(descent->time_s);
    free(descent->s_m);
    free(descent->speed_ms);
    free(descent->acceleration_ms2);
    *descent = (struct cw_descent){0};
}
