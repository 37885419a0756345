#include "plan/advice.h"

#include <math.h>

#include "base/each.h"
#include "plan/promise.h"
#include "stats/power.h"
#include "stats/root.h"

/* Enough to tell one part, or one speed, from another. */
enum { RUNS = 4 };
static const size_t turns[RUNS] = {0, 1, 1, 0};

/* What the noise leaves of one run's part in a difference. CW_E_DATA where too little is ridden. */
static enum cw_status error_of(const struct cw_plan_day *day, const struct cw_plan_look *look,
                               double *of_run, struct cw_error *error) {
    struct cw_plan_expected expected = {0};
    double unused;
    enum cw_status status = cw_plan_ride(day, turns, RUNS, &expected, error);
    if (status >= 0) status = cw_plan_expect(day, look, &expected, error);
    if (status >= 0) cw_plan_noise_of_difference(&expected.fit, &unused, of_run);
    cw_plan_expected_free(&expected);
    return status;
}

struct advising {
    struct cw_plan_day day; /* each look has a thread of its own */
    struct cw_plan *plan;
};

static enum cw_status tell_part(void *context, size_t k, struct cw_error *error) {
    const struct advising *advising = context;
    struct cw_plan_part *part = &advising->plan->parts[k];
    struct cw_plan_look look = {.depth = CW_FIT_INFORMATION,
                                .gusts_true = true,
                                .from_m = part->from_m,
                                .to_m = part->to_m};
    double of_run;
    enum cw_status status = error_of(&advising->day, &look, &of_run, error);
    if (status >= 0) part->share = 1 / (of_run * of_run);
    return status == CW_E_DATA ? CW_OK : status;
}

static double top_of(const struct cw_descent *descent) {
    double top = 0;
    for (size_t i = 0; i < descent->n; i++) top = fmax(top, descent->speed_ms[i]);
    return top;
}

static enum cw_status tell_start(void *context, size_t k, struct cw_error *error) {
    const struct advising *advising = context;
    struct cw_plan_start *start = &advising->plan->starts[k];
    struct cw_simulate_options options = *advising->day.options;
    struct cw_plan_day other = advising->day;
    struct cw_descent descent = {0};
    struct cw_plan_look look = {.depth = CW_FIT_INFORMATION, .gusts_true = true, .to_m = INFINITY};
    double of_run;
    other.options = &options;
    options.start_speed_ms = start->speed_ms;
    enum cw_status status = cw_plan_coast(&other, start->speed_ms, 0.5, &descent, error);
    if (status >= 0) status = error_of(&other, &look, &of_run, error);
    if (status >= 0)
        *start = (struct cw_plan_start){start->speed_ms, descent.end_time_s, top_of(&descent),
                                        100 * of_run, true};
    cw_descent_free(&descent);
    return status == CW_E_DATA ? CW_OK : status;
}

enum cw_status cw_plan_advise_road(const struct cw_plan_day *day, struct cw_plan *plan,
                                   struct cw_error *error) {
    double end_m = plan->stands_still ? plan->runout_m : plan->length_m, all = 0;
    double given = day->options->start_speed_ms > 0 ? day->options->start_speed_ms : 4;
    const double speeds[CW_PLAN_STARTS] = {0, given / 2, given, 2 * given};
    struct advising advising = {*day, plan};
    struct cw_each each = {
        .n = CW_PLAN_PARTS, .threads = day->threads, .context = &advising, .work = tell_part};
    advising.day.threads = 1;
    for (size_t k = 0; k < CW_PLAN_PARTS; k++)
        plan->parts[k] = (struct cw_plan_part){.from_m = end_m * (double)k / CW_PLAN_PARTS,
                                               .to_m = end_m * (double)(k + 1) / CW_PLAN_PARTS};
    enum cw_status status = cw_each(&each, error);
    for (size_t k = 0; k < CW_PLAN_PARTS; k++) all += plan->parts[k].share;
    for (size_t k = 0; k < CW_PLAN_PARTS && all > 0; k++) plan->parts[k].share /= all;
    for (size_t k = 0; k < CW_PLAN_STARTS; k++)
        plan->starts[k] = (struct cw_plan_start){speeds[k], NAN, NAN, NAN, false};
    each.n = CW_PLAN_STARTS;
    each.work = tell_start;
    return status < 0 ? status : cw_each(&each, error);
}

/* ---- winds ---- */

struct windy {
    double within_sd, by_ms, log_difference, level, runs;
};

static double runs_in(const struct windy *w, double wind_ms) {
    double n, sd = hypot(w->within_sd, w->by_ms * wind_ms);
    struct cw_error unused;
    return cw_power_runs(CW_POWER_TWO_GROUPS, w->log_difference, sd, w->level, 0.8, &n, &unused) < 0
               ? NAN
               : n;
}

static double beyond(double wind_ms, void *state) {
    const struct windy *w = state;
    double n = runs_in(w, wind_ms);
    return (isnan(n) ? 1e6 : n) - w->runs;
}

/* The wind that asks for so many runs; NaN where less would, or none does. */
static double wind_for(struct windy *w, double runs) {
    w->runs = runs;
    return cw_root(beyond, w, 0, 5, 1e-4);
}

void cw_plan_advise_winds(double within_sd, double by_ms, double log_difference, double level,
                          struct cw_plan *plan) {
    static const double winds_ms[CW_PLAN_WINDS] = {0, 0.1, 0.2, 0.3, 0.5, 0.7};
    struct windy w = {within_sd, by_ms, log_difference, level, 0};
    bool asked = isfinite(log_difference) && log_difference > 0;
    for (size_t k = 0; k < CW_PLAN_WINDS; k++) {
        double sd_ms = winds_ms[k], runs = asked ? ceil(runs_in(&w, sd_ms) - 1e-9) : NAN;
        /* Few runs know little of their scatter, which this does not see and the plan does. */
        if (sd_ms >= plan->wind_planned_ms && isfinite(plan->needed[0].runs))
            runs = fmax(runs, plan->needed[0].runs);
        plan->winds[k] =
            (struct cw_plan_wind){sd_ms, 100 * hypot(within_sd, by_ms * sd_ms), asked ? runs : NAN};
    }
    plan->wind_twice_ms = plan->wind_limit_ms = NAN;
    if (!asked) return;
    plan->wind_twice_ms = wind_for(&w, fmax(2 * plan->needed[0].runs, runs_in(&w, 0)));
    plan->wind_limit_ms = wind_for(&w, CW_PLAN_RUNS_MOST);
}
