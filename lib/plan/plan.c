#include "plan/plan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/workings.h"
#include "physics/stopping.h"
#include "plan/advice.h"
#include "plan/day.h"
#include "plan/like.h"
#include "plan/promise.h"
#include "plan/turns.h"
#include "stats/power.h"

double cw_plan_power(size_t k) {
    static const double powers[CW_PLAN_POWERS] = {0.8, 0.9};
    return k < CW_PLAN_POWERS ? powers[k] : NAN;
}

/* Runs in all that are asked one by one: more are reckoned on from those. */
enum { ASKED_MOST = 48, EACH_MOST = ASKED_MOST / 2 };
/* Of each setup, where errors of a single run are told. */
enum { BASE_RUNS = 4 };
static const double level = 0.05;

struct cw_plan_options cw_plan_options_default(void) {
    struct cw_plan_options options = {.day = cw_simulate_options_default(),
                                      .recorder = CW_PLAN_WHEEL,
                                      .cda_m2 = NAN,
                                      .crr = NAN,
                                      .mass_kg = NAN,
                                      .difference_percent = NAN,
                                      .seed = 1};
    options.day.setups[0] =
        (struct cw_simulate_setup){.name = "a", .tyres = "all", .cda_m2 = 0.4, .crr = 0.005};
    options.day.setups[1] =
        (struct cw_simulate_setup){.name = "b", .tyres = "all", .cda_m2 = 0.4, .crr = 0.005};
    return options;
}

void cw_plan_free(struct cw_plan *plan) {
    free(plan->order);
    *plan = (struct cw_plan){0};
}

/* ---- what is asked ---- */

static enum cw_status check_range(const char *what, double value, double low, double high,
                                  const char *unit, struct cw_error *error) {
    if (value >= low && value <= high) return CW_OK;
    if (isnan(value))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "give %s, or an outing to be like",
                            what);
    return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "%s is %.6g%s, outside %g to %g", what,
                        value, unit, low, high);
}

static enum cw_status settle(struct cw_plan_options *options, struct cw_error *error) {
    struct cw_simulate_options *day = &options->day;
    enum cw_status status = CW_OK;
    if (options->like)
        status = cw_plan_like_settle(options, error);
    else
        cw_simulate_elevation(day, cw_plan_elevation(options->recorder));
    if (status >= 0) status = check_range("CdA", options->cda_m2, 0.05, 2, " m2", error);
    if (status >= 0) status = check_range("Crr", options->crr, 0, 0.05, "", error);
    if (status >= 0)
        status = check_range("the mass of all that moves", options->mass_kg, 23, 450, " kg", error);
    if (status < 0) return status;
    if (day->n_setups < 2)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "give two setups or more to compare");
    if (options->runs == 0 && isnan(options->difference_percent))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "give the difference that is to be found, or a number of runs");
    if (!isnan(options->difference_percent))
        status = check_range("the difference", options->difference_percent, 0.1, 50, " %", error);
    if (status < 0) return status;
    if (options->runs == 1 || options->runs > CW_SIMULATE_RUNS_MAX / day->n_setups)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "%zu runs of each setup cannot be planned: give 2 to %zu",
                            options->runs, (size_t)CW_SIMULATE_RUNS_MAX / day->n_setups);
    for (size_t s = 0; s < day->n_setups; s++) {
        day->setups[s].cda_m2 = options->cda_m2;
        day->setups[s].crr = options->crr;
    }
    cw_simulate_order(day, 1);
    day->n_recordings = 1;
    return cw_simulate_options_check(day, error);
}

/* ---- the road ---- */

static double slope_of(double sine) {
    return sine / sqrt(1 - sine * sine);
}

static void look_for_dangers(const struct cw_plan_ground *ground, const struct cw_descent *d,
                             struct cw_plan *plan) {
    plan->safe_m = NAN;
    for (size_t i = 0; i < d->n; i++) {
        double slope = slope_of(cw_plan_ground_sine(d->s_m[i], ground));
        plan->steepest = fmin(plan->steepest, slope);
        if (isinf(cw_stopping_distance(d->speed_ms[i], slope))) plan->dangers |= CW_PLAN_NO_BRAKES;
        if (d->speed_ms[i] > plan->top_speed_ms) {
            plan->top_speed_ms = d->speed_ms[i];
            plan->top_at_m = d->s_m[i];
            plan->stopping_distance_m = cw_stopping_distance(d->speed_ms[i], slope);
        }
        if (isnan(plan->safe_m) && d->speed_ms[i] > CW_PLAN_FAST_MS) plan->safe_m = d->s_m[i];
    }
    if (plan->top_speed_ms > CW_PLAN_FAST_MS) plan->dangers |= CW_PLAN_FAST;
    if (plan->steepest < -CW_PLAN_STEEP_SLOPE) plan->dangers |= CW_PLAN_STEEP;
}

static enum cw_status tell_road(const struct cw_plan_day *day, struct cw_plan *plan,
                                struct cw_error *error) {
    struct cw_descent descent;
    enum cw_status status = cw_plan_coast(day, day->options->start_speed_ms, 0.25, &descent, error);
    if (status >= 0) {
        plan->length_m = day->ground->length_m;
        plan->drop_m = day->ground->drop_m;
        plan->time_s = descent.end_time_s;
        plan->end_speed_ms = descent.end_speed_ms;
        plan->stands_still = descent.stopped;
        plan->runout_m = descent.stopped ? descent.end_s_m : NAN;
        look_for_dangers(day->ground, &descent, plan);
    }
    cw_descent_free(&descent);
    return status;
}

/* ---- how many runs ---- */

/* What is known of so many runs of each setup. */
struct asking {
    const struct cw_plan_day *day;
    struct cw_plan_truth truth[CW_PLAN_TRUTHS];
    double level;                      /* of the test of one difference */
    double log_difference;             /* NaN: none */
    size_t n_setups, most;             /* runs of each setup that are asked */
    double answer[CW_REML_MOST];       /* of the difference to the noise */
    struct cw_plan_promised *promised; /* by runs of each setup; n is 0 where not yet asked */
};

static enum cw_status expect(const struct cw_plan_day *day, const struct cw_plan_look *look,
                             size_t n_setups, size_t runs, struct cw_plan_expected *expected,
                             struct cw_error *error) {
    size_t *order = malloc(n_setups * runs * sizeof *order);
    bool unused;
    *expected = (struct cw_plan_expected){0};
    enum cw_status status =
        order ? cw_plan_turns(n_setups, runs, 1, order, &unused, error) : cw_error_memory(error);
    if (status >= 0) status = cw_plan_ride(day, order, n_setups * runs, expected, error);
    if (status >= 0) status = cw_plan_expect(day, look, expected, error);
    free(order);
    return status;
}

static enum cw_status ask(struct asking *asking, size_t runs, struct cw_plan_promised *promised,
                          struct cw_error *error) {
    size_t asked = runs < asking->most ? runs : asking->most;
    enum cw_status status = CW_OK;
    if (!asking->promised[asked].n) {
        struct cw_plan_look look = {
            .depth = CW_FIT_INFORMATION, .answer = asking->answer, .to_m = INFINITY};
        struct cw_plan_expected expected;
        status = expect(asking->day, &look, asking->n_setups, asked, &expected, error);
        if (status >= 0)
            status = cw_plan_promise_make(&expected, asking->n_setups, asking->truth, asking->level,
                                          &asking->promised[asked], error);
        cw_plan_expected_free(&expected);
    }
    *promised = cw_plan_promise_scaled(&asking->promised[asked], (double)runs / (double)asked);
    return status;
}

/* The fewest runs, from 2, that have the power by what was asked at `from` runs. */
static double fewest(const struct cw_plan_promised *promised, double from, double log_difference,
                     double power) {
    double low = 1, high = 2;
    while (high < 1e6) {
        struct cw_plan_promised there = cw_plan_promise_scaled(promised, high / from);
        if (cw_plan_promise_power(&there, log_difference) >= power) break;
        low = high;
        high *= 2;
    }
    if (high >= 1e6) return NAN;
    while (high - low > 1) {
        double middle = floor((low + high) / 2);
        struct cw_plan_promised there = cw_plan_promise_scaled(promised, middle / from);
        if (cw_plan_promise_power(&there, log_difference) >= power)
            high = middle;
        else
            low = middle;
    }
    return high;
}

/* Asks at the number that what was asked before makes the fewest, until that is the number itself:
 * there one less does not have the power. */
static enum cw_status find_needed(struct asking *asking, double power, size_t begin,
                                  struct cw_plan_runs *needed, struct cw_error *error) {
    enum { TRIES = 6 };
    size_t n = begin;
    *needed = (struct cw_plan_runs){NAN, false, power};
    for (int tries = 0; tries < TRIES; tries++) {
        struct cw_plan_promised promised;
        enum cw_status status = ask(asking, n, &promised, error);
        if (status < 0) return status;
        double reached = cw_plan_promise_power(&promised, asking->log_difference),
               guess = fewest(&promised, (double)n, asking->log_difference, power);
        if (reached >= power && !(needed->asked && needed->runs <= (double)n))
            *needed = (struct cw_plan_runs){(double)n, true, reached};
        if (isnan(guess) || guess == (double)n) break;
        if (guess > (double)asking->most) {
            if (n == asking->most) *needed = (struct cw_plan_runs){guess, false, power};
            if (n == asking->most) break;
            guess = (double)asking->most;
        }
        /* Between two that were asked and point at each other it is the larger one. */
        if (asking->promised[(size_t)guess].n && needed->asked && needed->runs > guess) break;
        n = (size_t)guess;
    }
    return CW_OK;
}

/* Of the middle half of what is possible: few runs leave tails so long that their mean is of little
 * use (as cw_between_middle has it). */
static double middle(const double x[CW_PLAN_TRUTHS]) {
    double sum = 0;
    for (size_t k = CW_PLAN_TRUTHS / 4; k < CW_PLAN_TRUTHS - CW_PLAN_TRUTHS / 4; k++) sum += x[k];
    return sum / (CW_PLAN_TRUTHS / 2.0);
}

static void tell_promise(const struct asking *asking, const struct cw_plan_promised *promised,
                         struct cw_plan_promise *promise) {
    *promise = (struct cw_plan_promise){
        .error_percent = 100 * middle(promised->sd),
        .standard_error_percent = 100 * middle(promised->standard_error),
        .half_percent = 100 * middle(promised->half_95),
        .power = isnan(asking->log_difference)
                     ? NAN
                     : cw_plan_promise_power(promised, asking->log_difference)};
    for (size_t k = 0; k < CW_PLAN_POWERS; k++)
        promise->smallest_percent[k] =
            100 * expm1(cw_plan_promise_smallest(promised, cw_plan_power(k)));
}

/* ---- one run ---- */

/* By what runs are taken to scatter, where no earlier outing tells: as the day's options have it,
 * and the noise by what the fit takes gusts for that blow otherwise. */
static enum cw_status take_truths(const struct cw_plan_day *day,
                                  const struct cw_plan_options *options,
                                  const struct cw_plan_expected *base, struct asking *asking,
                                  struct cw_error *error) {
    struct cw_plan_look look = {.depth = CW_FIT_INFORMATION, .gusts_true = true, .to_m = INFINITY};
    struct cw_plan_expected blown = {0};
    double found, true_sd, unused;
    if (options->like) return cw_plan_like_truths(&options->like->fit, asking->truth, error);
    cw_plan_noise_of_difference(&base->fit, &found, &unused);
    enum cw_status status = expect(day, &look, asking->n_setups, BASE_RUNS, &blown, error);
    if (status >= 0) cw_plan_noise_of_difference(&blown.fit, &true_sd, &unused);
    cw_plan_expected_free(&blown);
    if (status < 0) return status;
    for (size_t k = 0; k < CW_PLAN_TRUTHS; k++)
        asking->truth[k] =
            (struct cw_plan_truth){true_sd / found, day->options->cda_scatter_percent / 100,
                                   day->options->wander_wind_sd_ms, day->options->run_wind_sd_ms};
    return CW_OK;
}

/* What runs scatter by without winds, and the winds' sd. */
static void without_winds(const struct asking *asking, double of_run, double *within_sd,
                          double *wind_ms) {
    double within[CW_PLAN_TRUTHS], winds[CW_PLAN_TRUTHS];
    for (size_t k = 0; k < CW_PLAN_TRUTHS; k++) {
        const struct cw_plan_truth *t = &asking->truth[k];
        within[k] = hypot(t->noise * of_run, t->own);
        winds[k] = hypot(t->wind_ms, t->own_wind_ms);
    }
    *within_sd = middle(within);
    *wind_ms = middle(winds);
}

static void tell_run(const struct cw_plan_expected *pair, double cda_m2, double wind_part,
                     struct cw_plan *plan) {
    const struct cw_fit_run *run = &pair->fit.runs[0];
    plan->alone_percent = 100 * hypot(run->alone_cda_m2.standard_error / cda_m2, wind_part);
    plan->alone_told = run->identifiable;
    plan->alone_crr_error = run->alone_crr.standard_error;
    plan->correlation = run->correlation;
}

/* How well all runs know Crr: as the base's do, and the noise's part as many times better as there
 * are more; what is the same in all stays. Told is what leaves no more than a third of it open. */
static void tell_crr(const struct cw_fit *pair, const struct cw_fit *base, struct cw_plan *plan) {
    double noise = sqrt(base->workings->covariance[0] * BASE_RUNS / (double)plan->runs);
    plan->crr_error = hypot(noise, cw_budget_of(&pair->workings->budget, 0));
    plan->crr_told = plan->crr_error < plan->options.crr / 3;
}

/* How well two setups on tyres of their own would have these told apart, as the base's runs do. */
static enum cw_status tyres_apart(const struct asking *asking, const struct cw_plan_day *day,
                                  double from_m, size_t runs, struct cw_plan_tyres *tyres,
                                  struct cw_error *error) {
    struct cw_plan_look look = {.depth = CW_FIT_INFORMATION,
                                .answer = asking->answer,
                                .from_m = from_m,
                                .to_m = INFINITY,
                                .tyres = true};
    struct cw_plan_expected expected = {0};
    double *const told[2] = {&tyres->half_crr, &tyres->half_crr_one_drag};
    enum cw_status status = expect(day, &look, asking->n_setups, BASE_RUNS, &expected, error);
    for (int one = 0; one < 2 && status >= 0; one++) {
        double half[CW_PLAN_TRUTHS];
        status =
            cw_plan_promise_rolling(&expected, asking->n_setups, asking->truth, one, half, error);
        if (status >= 0) *told[one] = middle(half) * sqrt(BASE_RUNS / (double)runs);
    }
    cw_plan_expected_free(&expected);
    return status;
}

static enum cw_status tell_tyres(const struct asking *asking, struct cw_plan *plan,
                                 struct cw_error *error) {
    /* Farther than any run rolls up there. */
    static const double on_m = 3000;
    /* So much of a long road before that tells the drag there well enough. */
    static const double before_m = 1500;
    struct cw_plan_ground ground =
        cw_plan_ground_on(asking->day->ground, CW_PLAN_ROLLOUT_SLOPE, on_m);
    struct cw_plan_day day = *asking->day;
    day.ground = &ground;
    plan->tyres_on = (struct cw_plan_tyres){NAN, NAN};
    enum cw_status status = tyres_apart(asking, asking->day, 0, plan->runs, &plan->tyres, error);
    if (status >= 0 && !plan->stands_still)
        status = tyres_apart(asking, &day, fmax(0, plan->length_m - before_m), plan->runs,
                             &plan->tyres_on, error);
    return status;
}

/* ---- all of it ---- */

/* Waits at the top so long that runs follow each other as they did. */
static enum cw_status wait_like(const struct cw_fit *like, struct cw_plan_options *options,
                                const struct cw_plan_day *day, struct cw_error *error) {
    static const size_t two[2] = {0, 1};
    struct cw_plan_expected expected = {0};
    double turn_s;
    enum cw_status status = cw_plan_like_turn_s(like, &turn_s, error);
    if (status < 0 || isnan(turn_s)) return status;
    status = cw_plan_ride(day, two, 2, &expected, error);
    if (status >= 0)
        options->day.top_wait_s =
            fmin(3600, fmax(0, options->day.top_wait_s + turn_s -
                                   (expected.ridden[1].start_s - expected.ridden[0].start_s)));
    cw_plan_expected_free(&expected);
    return status;
}

/* The order and its clock, and what so many runs tell of Crr. */
static enum cw_status lay_out_runs(const struct cw_plan_day *day, struct cw_plan *plan,
                                   struct cw_error *error) {
    size_t n_setups = plan->options.day.n_setups, n = n_setups * plan->runs;
    struct cw_plan_expected expected = {0};
    size_t *order = malloc(n * sizeof *order);
    plan->order = calloc(n, sizeof *plan->order);
    enum cw_status status = order && plan->order ? CW_OK : cw_error_memory(error);
    if (status >= 0)
        status =
            cw_plan_turns(n_setups, plan->runs, plan->options.seed, order, &plan->by_seed, error);
    if (status >= 0) status = cw_plan_ride(day, order, n, &expected, error);
    for (size_t i = 0; i < n && status >= 0; i++)
        plan->order[i] =
            (struct cw_plan_run){order[i], expected.ridden[i].start_s - plan->options.day.start_s};
    if (status >= 0) {
        plan->n_order = n;
        plan->minutes = expected.end_s / 60;
    }
    cw_plan_expected_free(&expected);
    free(order);
    return status;
}

static enum cw_status answer(const struct cw_plan_day *day, struct cw_plan *plan,
                             struct cw_error *error) {
    const struct cw_plan_options *options = &plan->options;
    size_t n_setups = options->day.n_setups;
    struct asking asking = {.day = day,
                            .level = 2 * level / (double)(n_setups * (n_setups - 1)),
                            .log_difference = log1p(options->difference_percent / 100),
                            .n_setups = n_setups,
                            .most = ASKED_MOST / n_setups};
    struct cw_plan_promised at_base, promised;
    struct cw_plan_expected pair = {0}, base = {0};
    double of_noise, of_run, within_sd, by_ms = NAN;
    struct cw_plan_look whole = {.depth = CW_FIT_ALL, .to_m = INFINITY},
                        brief = {
                            .depth = CW_FIT_INFORMATION, .answer = asking.answer, .to_m = INFINITY};
    asking.promised = calloc(EACH_MOST + 1, sizeof *asking.promised);
    if (!asking.promised) return cw_error_memory(error);
    enum cw_status status = expect(day, &whole, 2, 1, &pair, error);
    if (status >= 0) status = cw_plan_answer(&pair.fit, asking.answer, error);
    if (status >= 0) status = expect(day, &brief, n_setups, BASE_RUNS, &base, error);
    if (status >= 0) status = take_truths(day, options, &base, &asking, error);
    if (status >= 0) {
        cw_plan_noise_of_difference(&base.fit, &of_noise, &of_run);
        by_ms = fabs(cw_between_by_wind(&base.fit.workings->joint.data[0]));
        plan->wind_percent_per_ms = 100 * by_ms;
        without_winds(&asking, of_run, &within_sd, &plan->wind_planned_ms);
        status = cw_plan_promise_make(&base, n_setups, asking.truth, asking.level,
                                      &asking.promised[BASE_RUNS], error);
    }
    if (status < 0) goto cleanup;
    at_base = asking.promised[BASE_RUNS];
    plan->together_percent = 100 * middle(at_base.sd) * sqrt(BASE_RUNS / 2.0);
    tell_run(&pair, options->cda_m2, by_ms * plan->wind_planned_ms, plan);
    for (size_t k = 0; k < CW_PLAN_POWERS; k++)
        plan->needed[k] = (struct cw_plan_runs){NAN, false, cw_plan_power(k)};
    if (!isnan(asking.log_difference)) {
        size_t begin = BASE_RUNS;
        for (size_t k = 0; k < CW_PLAN_POWERS && status >= 0; k++) {
            status = find_needed(&asking, cw_plan_power(k), begin, &plan->needed[k], error);
            if (plan->needed[k].runs <= (double)asking.most) begin = (size_t)plan->needed[k].runs;
        }
        if (status < 0) goto cleanup;
    }
    plan->runs = options->runs;
    if (!plan->runs)
        plan->runs = plan->needed[0].runs <= CW_PLAN_RUNS_MOST ? (size_t)plan->needed[0].runs
                                                               : CW_PLAN_RUNS_MOST;
    status = ask(&asking, plan->runs, &promised, error);
    if (status < 0) goto cleanup;
    tell_promise(&asking, &promised, &plan->promise);
    tell_crr(&pair.fit, &base.fit, plan);
    status = tell_tyres(&asking, plan, error);
    if (status < 0) goto cleanup;
    cw_plan_advise_winds(within_sd, by_ms, asking.log_difference, asking.level, plan);
    status = lay_out_runs(day, plan, error);
cleanup:
    cw_plan_expected_free(&pair);
    cw_plan_expected_free(&base);
    free(asking.promised);
    return status;
}

enum cw_status cw_plan_make(const struct cw_plan_options *asked, struct cw_plan *plan,
                            struct cw_error *error) {
    struct cw_plan_ground ground = {0};
    struct cw_plan_noise *noise = calloc(1, sizeof *noise);
    struct cw_plan_day day = {0};
    *plan = (struct cw_plan){.options = *asked};
    struct cw_plan_options *options = &plan->options;
    enum cw_status status = noise ? settle(options, error) : cw_error_memory(error);
    if (status < 0) goto cleanup;
    const struct cw_analysed *road = options->road;
    if (road && !road->fitted) {
        status =
            cw_error_set(error, CW_E_DATA, road->outing.file, 0, "no run of it tells the road");
        goto cleanup;
    }
    status = cw_plan_ground_make(&options->day, road ? &road->fit : NULL, &ground, error);
    if (status >= 0 && options->like)
        status = cw_plan_noise_like(&options->like->fit, noise, error);
    else if (status >= 0)
        cw_plan_noise_usual(options->recorder, options->day.gust_sd_ms, noise);
    /* Of a road that nobody rode before the fit will find how rough it is. */
    if (status >= 0 && (!road || road != options->like))
        cw_plan_noise_rough(noise, cw_plan_ground_roughness(&ground));
    if (status >= 0) status = cw_plan_day_make(options, &ground, noise, &day, error);
    if (status >= 0) status = tell_road(&day, plan, error);
    if (status >= 0 && options->like) status = wait_like(&options->like->fit, options, &day, error);
    if (status >= 0) status = answer(&day, plan, error);
    if (status >= 0) status = cw_plan_advise_road(&day, plan, error);
cleanup:
    cw_plan_day_free(&day);
    cw_plan_ground_free(&ground);
    free(noise);
    if (status < 0) cw_plan_free(plan);
    return status;
}
