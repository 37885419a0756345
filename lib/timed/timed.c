#include "timed/timed.h"

#include <math.h>
#include <stdlib.h>

#include "fit/tape.h"
#include "stats/tests.h"
#include "timed/noted.h"
#include "timed/place_error.h"
#include "timed/steps.h"

/* A run is timed while it is faster than this part of its own mean speed. Slower, a metre that its
 * place is wrong by costs too much time. */
#define ROLLING 0.5
struct cw_timed_options cw_timed_options_default(void) {
    return (struct cw_timed_options){.n_chosen = 5, .reference = CW_NO_SETUP};
}

/* What a run is while it is timed. */
struct timing {
    const struct cw_ridden *input;
    struct cw_timed *timed;
    const struct cw_along *along; /* one for each of the input's runs */
    const struct cw_wander *wander;
    const struct cw_start *starts; /* one for each timed run where all began at a mark; or NULL */
};

static const struct cw_motion *motion_of(const struct cw_ridden *input, size_t run) {
    return &input->motions[input->runs->at[run].recording];
}

static struct cw_gate_track track_of(const struct timing *t, size_t index) {
    const struct cw_run *run = &t->input->runs->at[index];
    return (struct cw_gate_track){.n = t->along[index].n,
                                  .time_s = t->input->recordings[run->recording].samples.time_s +
                                            run->first,
                                  .s_m = t->along[index].s_m,
                                  .speed_ms = motion_of(t->input, index)->speed_ms + run->first};
}

/* Where the run rolls at half its mean speed or more. */
static struct cw_gate_reach reach_of(const struct cw_gate_track *track, size_t setup) {
    size_t first = 0, last = track->n - 1;
    double least =
        ROLLING * (track->s_m[last] - track->s_m[0]) / (track->time_s[last] - track->time_s[0]);
    while (first < last && !(track->speed_ms[first] >= least)) first++;
    while (last > first && !(track->speed_ms[last] >= least)) last--;
    return (struct cw_gate_reach){track->s_m[first], track->s_m[last], setup};
}

/* An estimate whose error has a part from the shift, known to so many degrees of freedom, and one
 * that is known for sure. */
static struct cw_estimate estimate(double value, double shift_variance, double shift_df,
                                   double own_variance) {
    const double parts[] = {sqrt(shift_variance), sqrt(own_variance)};
    const double df[] = {shift_df, INFINITY};
    double effective = cw_satterthwaite_df(2, parts, df);
    if (!isfinite(value)) return (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    return cw_estimate_make(value, sqrt(shift_variance + own_variance),
                            cw_t_quantile(0.975, isnan(effective) ? INFINITY : effective));
}

/* Variance of the speed at a gate that is not quite where it is thought to be. */
static double speed_variance(const struct cw_gate_passage *passage, double error_ms,
                             double place_m2) {
    double slope = passage->acceleration_ms2 / passage->speed_ms; /* dv/ds */
    return error_ms * error_ms + slope * slope * place_m2;
}

static double time_by_entry(const struct cw_gate_track *track, const struct cw_gate_passage *first,
                            const struct cw_gate_passage *last) {
    /* Integral of ds/v^3 = integral of dt/v^2, by the trapezium. */
    double before_s = first->time_s, before = 1 / (first->speed_ms * first->speed_ms), sum = 0;
    for (size_t i = first->before + 1; i <= last->before; i++) {
        double now = 1 / (track->speed_ms[i] * track->speed_ms[i]);
        sum += 0.5 * (before + now) * (track->time_s[i] - before_s);
        before_s = track->time_s[i];
        before = now;
    }
    sum += 0.5 * (before + 1 / (last->speed_ms * last->speed_ms)) * (last->time_s - before_s);
    return -first->speed_ms * sum;
}

/* Where a run came to stand still, from the gate at from_m. The run itself ends at walking pace, or
 * where going back is seen; from there it is followed until the wheel stands. */
static struct cw_estimate runout_of(const struct timing *t, size_t index, double from_m,
                                    const struct cw_place_error *place) {
    const struct cw_run *run = &t->input->runs->at[index];
    const struct cw_motion *motion = motion_of(t->input, index);
    const double *time_s = t->input->recordings[run->recording].samples.time_s;
    const struct cw_estimate none = {NAN, NAN, NAN, NAN, 0};
    size_t at;
    if (!cw_standstill(t->input, run, &at)) return none;
    double more_m = motion->distance_m[at] - motion->distance_m[run->last];
    double at_m = t->along[index].s_m[t->along[index].n - 1] + more_m;
    /* The gate is where it is; the run's place at its end has all of its error. */
    return estimate(at_m - from_m, place->shift_m2, place->shift_df,
                    cw_place_error_own(place, time_s[at], time_s[at]));
}

static void time_run(const struct timing *t, size_t k) {
    const struct cw_timed *timed = t->timed;
    struct cw_timed_run *result = &timed->runs[k];
    const struct cw_run *run = &t->input->runs->at[result->run];
    const double *speed_error_ms = motion_of(t->input, result->run)->speed_error_ms + run->first;
    struct cw_gate_track track = track_of(t, result->run);
    struct cw_place_error place =
        cw_place_error_make(t->input, result->run, t->wander, t->starts ? &t->starts[k] : NULL);
    struct cw_gate_passage passages[CW_GATES_MAX] = {0};
    double own_m2[CW_GATES_MAX] = {0}, interval_m2[CW_GATES_MAX];
    for (size_t g = 0; g < timed->n_gates; g++) {
        struct cw_gate_passage *p = &passages[g];
        cw_gate_pass(&track, timed->gates_m[g], p);
        double dt = isnan(p->time_s) ? NAN : track.time_s[p->before + 1] - track.time_s[p->before];
        /* Between two samples the walk is a bridge. */
        interval_m2[g] = place.walk_m2ps * dt * p->fraction * (1 - p->fraction);
        own_m2[g] = cw_place_error_own(&place, p->time_s, p->time_s) + interval_m2[g];
        result->at[g] =
            (struct cw_crossing){.time_s = p->time_s,
                                 .speed_ms = p->speed_ms,
                                 .standard_error_s = sqrt(place.shift_m2 + own_m2[g]) / p->speed_ms,
                                 .shift_s = sqrt(place.shift_m2) / p->speed_ms,
                                 .interval_s = sqrt(interval_m2[g]) / p->speed_ms};
    }
    const struct cw_gate_passage *a = &passages[0], *b = &passages[timed->n_gates - 1];
    double slowness = 1 / b->speed_ms - 1 / a->speed_ms;
    double own_s2 =
        own_m2[0] / (a->speed_ms * a->speed_ms) +
        own_m2[timed->n_gates - 1] / (b->speed_ms * b->speed_ms) -
        2 * cw_place_error_own(&place, a->time_s, b->time_s) / (a->speed_ms * b->speed_ms);
    bool crosses_both = isfinite(a->time_s) && isfinite(b->time_s);
    result->time_s = estimate(b->time_s - a->time_s, place.shift_m2 * slowness * slowness,
                              place.shift_df, own_s2);
    result->entry_speed_ms =
        estimate(a->speed_ms, speed_variance(a, 0, place.shift_m2), place.shift_df,
                 speed_variance(a, isnan(a->time_s) ? NAN : speed_error_ms[a->before], own_m2[0]));
    result->exit_speed_ms =
        estimate(b->speed_ms, speed_variance(b, 0, place.shift_m2), place.shift_df,
                 speed_variance(b, isnan(b->time_s) ? NAN : speed_error_ms[b->before],
                                own_m2[timed->n_gates - 1]));
    result->runout_m = runout_of(t, result->run, timed->gates_m[0], &place);
    result->time_by_entry_sms = crosses_both ? time_by_entry(&track, a, b) : NAN;
}

static enum cw_status lay_gates(const struct timing *t, const struct cw_timed_options *options,
                                struct cw_error *error) {
    struct cw_timed *timed = t->timed;
    if (options->n_gates > 0) {
        if (options->n_gates < 2 || options->n_gates > CW_GATES_MAX)
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "%zu gates; there must be 2 to %d",
                                options->n_gates, CW_GATES_MAX);
        timed->n_gates = options->n_gates;
        for (size_t g = 0; g < timed->n_gates; g++) {
            timed->gates_m[g] = options->gates_m[g];
            if (!isfinite(timed->gates_m[g]) ||
                (g > 0 && !(timed->gates_m[g] > timed->gates_m[g - 1])))
                return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                    "gate %zu is not farther down the road than the one before",
                                    g + 1);
        }
        return CW_OK;
    }
    struct cw_gate_reach *reaches = malloc(timed->n * sizeof *reaches);
    if (!reaches) return cw_error_memory(error);
    for (size_t k = 0; k < timed->n; k++) {
        struct cw_gate_track track = track_of(t, timed->runs[k].run);
        reaches[k] = reach_of(&track, timed->runs[k].setup);
    }
    timed->n_gates = options->n_chosen;
    timed->gates_chosen = true;
    enum cw_status status =
        cw_gates_choose(timed->n, reaches, timed->n_gates, timed->gates_m, error);
    free(reaches);
    return status;
}

/* The runs of the road, and what there is to say of those left out. */
static enum cw_status gather(const struct timing *t, const struct cw_road *road, size_t **members,
                             struct cw_error *error) {
    struct cw_timed *timed = t->timed;
    const struct cw_runs *runs = t->input->runs;
    timed->runs = calloc(runs->n, sizeof *timed->runs);
    *members = malloc(runs->n * sizeof **members);
    size_t other_way = 0;
    if (!timed->runs || !*members) return cw_error_memory(error);
    for (size_t i = 0; i < runs->n; i++) {
        const struct cw_run *run = &runs->at[i];
        if (!run->kept) continue;
        if (run->road == timed->road && run->reversed) {
            other_way++;
        } else if (run->road != timed->road) {
            cw_warning_add(&timed->warnings, CW_TIMED_WARNING_OTHER_ROAD, 0,
                           "run %ld is on another road and is not timed", run->number);
        } else if (t->along[i].n < 2 || (road->n > 0 && isnan(t->along[i].tie_sd_m))) {
            cw_warning_add(&timed->warnings, CW_TIMED_WARNING_NO_PLACE, 0,
                           "run %ld has no positions, so when it crossed a gate is not known",
                           run->number);
        } else {
            (*members)[timed->n] = i;
            timed->runs[timed->n++] = (struct cw_timed_run){.run = i, .setup = run->setup};
        }
    }
    if (other_way)
        cw_warning_add(&timed->warnings, CW_TIMED_WARNING_OTHER_WAY, 0,
                       "runs that ride the road the other way are not timed: %zu", other_way);
    return CW_OK;
}

static void say_missed(const struct timing *t) {
    struct cw_timed *timed = t->timed;
    for (size_t k = 0; k < timed->n; k++) {
        long number = t->input->runs->at[timed->runs[k].run].number;
        for (size_t g = 0; g < timed->n_gates; g += timed->n_gates - 1)
            if (isnan(timed->runs[k].at[g].time_s))
                cw_warning_add(&timed->warnings, CW_TIMED_WARNING_MISSED, 0,
                               "run %ld does not cross the gate at %.0f m and is not in the times",
                               number, timed->gates_m[g]);
    }
}

enum cw_status cw_timed_make(const struct cw_ridden *input, const struct cw_timed_options *options,
                             struct cw_timed *timed, struct cw_error *error) {
    const struct cw_timed_options usual = cw_timed_options_default();
    *timed = (struct cw_timed){.road = CW_ROAD_MAIN};
    if (!options) options = &usual;
    size_t kept = 0;
    for (size_t i = 0; i < input->runs->n; i++) kept += input->runs->at[i].kept;
    if (!kept)
        return cw_error_set(error, CW_E_DATA, input->outing->file, 0,
                            "no run is kept, so there is nothing to time; see `coastwise runs`");
    struct cw_road road = {0};
    struct cw_wander wander;
    struct cw_along *along = calloc(input->runs->n, sizeof *along);
    struct cw_start *starts = NULL;
    struct timing t = {input, timed, along, &wander, NULL};
    size_t *members = NULL;
    if (!along) return cw_error_memory(error);
    enum cw_status status = cw_road_make(input->recordings, input->motions, input->runs,
                                         timed->road, &road, along, error);
    if (status < 0) goto cleanup;
    if ((status = gather(&t, &road, &members, error)) < 0) goto cleanup;
    if (timed->n == 0) {
        status = cw_error_set(error, CW_E_DATA, input->outing->file, 0,
                              "no run has a known place on the road, so there is nothing to time");
        goto cleanup;
    }
    if (input->outing->starts_at_mark) {
        if (!(starts = malloc(timed->n * sizeof *starts))) {
            status = cw_error_memory(error);
            goto cleanup;
        }
        timed->from_mark = cw_starts_tie(input, members, timed->n, along, starts, &timed->warnings);
        if (timed->from_mark) t.starts = starts;
    }
    if (road.n == 0 && !timed->from_mark)
        cw_warning_add(&timed->warnings, CW_TIMED_WARNING_NO_LINE, 0,
                       "no positions: gates are at distances from where each run was found to "
                       "begin, and how well runs agree on them is not known");
    for (size_t k = 0; k < timed->n; k++)
        timed->length_m = fmax(timed->length_m, along[members[k]].s_m[along[members[k]].n - 1]);
    status = cw_wander_make(input, &road, along, members, timed->n, &wander, error);
    if (status < 0) goto cleanup;
    timed->shift_sd_m = timed->from_mark ? CW_START_SD_M : wander.shift_sd_m;
    if ((status = lay_gates(&t, options, error)) < 0) goto cleanup;
    for (size_t k = 0; k < timed->n; k++) time_run(&t, k);
    say_missed(&t);
    if ((status = cw_timed_noted_make(input, timed, error)) < 0) goto cleanup;
    status = cw_timed_refer(input->outing, options->reference, timed, error);
    if (status >= 0) status = cw_timed_steps_make(input, timed, error);
cleanup:
    for (size_t i = 0; i < input->runs->n; i++) cw_along_free(&along[i]);
    free(along);
    free(members);
    free(starts);
    cw_road_free(&road);
    return status;
}

void cw_timed_free(struct cw_timed *timed) {
    free(timed->runs);
    free(timed->doubts);
    free(timed->setups);
    free(timed->comparisons);
    free(timed->steps);
    *timed = (struct cw_timed){0};
}
