#include "world_answer.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "world_program.h"

/* Reading answers. */

static double number(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : NAN;
}

static struct cw_estimate estimate(const json_t *object, const char *key) {
    const json_t *e = json_object_get(object, key);
    struct cw_estimate estimate = {number(e, "value"), number(e, "standard_error"),
                                   number(e, "low"), number(e, "high"), 0};
    return estimate;
}

static const char *text(const json_t *object, const char *key) {
    const char *value = json_string_value(json_object_get(object, key));
    return value ? value : "";
}

/* Days since 1970 of a date in the Gregorian calendar (Fliegel and Van Flandern 1968, Commun. ACM
 * 11:657, for the Julian day number, less that of 1970-01-01). */
static long days(long y, long m, long d) {
    return d - 32075 + 1461 * (y + 4800 + (m - 14) / 12) / 4 +
           367 * (m - 2 - (m - 14) / 12 * 12) / 12 - 3 * ((y + 4900 + (m - 14) / 12) / 100) / 4 -
           2440588;
}

static double unix_time(const char *iso) {
    int y, month, d, h, min;
    double s;
    if (sscanf(iso, "%d-%d-%dT%d:%d:%lfZ", &y, &month, &d, &h, &min, &s) != 6) return NAN;
    return (double)days(y, month, d) * 86400 + h * 3600 + min * 60 + s;
}

/* The runs found. */

struct found_run {
    double start_s, end_s;
    size_t trace;
    long number, road;
};

struct found {
    size_t n;
    struct found_run at[4 * WORLD_RUNS_MAX];
};

/* The trace that a file is of. */
static size_t trace_of(const struct world_outing *o, const char *file) {
    const char *base = strrchr(file, '/');
    base = base ? base + 1 : file;
    for (size_t i = 0; i < o->n_traces; i++) {
        char name[32];
        world_recording_name(o, i, name);
        if (!strcmp(base, name)) return i;
    }
    return 0;
}

/* From when to when a run was, by the true time. */
static struct found_run found_run(const struct world_outing *o, const json_t *run) {
    struct found_run f = {.trace = trace_of(o, text(run, "recording"))};
    f.start_s = unix_time(text(run, "start")) - o->trace[f.trace].clock_s;
    f.end_s = f.start_s + number(run, "duration_s");
    f.number = (long)number(run, "number");
    f.road = (long)fmax(number(run, "road"), 0);
    return f;
}

static void read_found(const json_t *json, const struct world_outing *o, struct found *found) {
    size_t i;
    json_t *run;
    found->n = 0;
    json_array_foreach(json_object_get(json, "runs"), i, run) {
        if (!json_is_true(json_object_get(run, "kept")) || found->n == 4 * WORLD_RUNS_MAX) continue;
        found->at[found->n++] = found_run(o, run);
    }
}

/* The run that a found one is of: the one it shares most time with; -1 if none. */
static int truth_of(const struct world_outing *o, const struct found_run *f) {
    int best = -1;
    double most = 0;
    for (size_t i = 0; i < o->n_runs; i++) {
        if (o->run[i].trace != f->trace) continue;
        double shared = fmin(f->end_s, o->run[i].end_s) - fmax(f->start_s, o->run[i].start_s);
        if (shared > most) {
            most = shared;
            best = (int)i;
        }
    }
    return best;
}

/* Off by more is not the run. Where samples lie further apart, an end may be a sample further in.
 */
#define ALLOWED_S 3.0

static bool ends_right(const struct world_outing *o, const struct found_run *f,
                       const struct world_run *run) {
    double apart = o->world.interval_s.high;
    double in = ALLOWED_S + (apart > 1 ? apart : 0);
    /* Rolling out at less than 2 m/s may be left off. */
    return f->start_s > run->start_s - ALLOWED_S && f->start_s < run->start_s + in &&
           f->end_s < run->end_s + ALLOWED_S && f->end_s > run->rolls_s - in;
}

/* A companion's run in the rider's wake may be kept or not. */
#define IN_WAKE_S 1.0

static void judge_found(const struct world_outing *o, const struct found *found, struct answer *a) {
    bool seen[2 * WORLD_RUNS_MAX] = {false};
    a->right = true;
    for (size_t i = 0; i < o->n_runs; i++) a->made += o->run[i].wake_s < IN_WAKE_S;
    for (size_t i = 0; i < found->n; i++) {
        const struct found_run *f = &found->at[i];
        int of = truth_of(o, f);
        bool counts = of < 0 || o->run[of].wake_s < IN_WAKE_S;
        a->found += counts;
        if (counts) a->right &= of >= 0 && !seen[of] && ends_right(o, f, &o->run[of]);
        if (of < 0) continue;
        seen[of] = true;
        a->matched++;
        a->start_off_s += f->start_s - o->run[of].start_s;
        a->end_off_s += f->end_s - o->run[of].end_s;
    }
    a->right &= a->found == a->made;
}

/* The rider's runs that were found, and the numbers of what is none. */
static size_t label_found(const struct world_outing *o, const struct found *found, size_t *runs,
                          char *skip, size_t size) {
    size_t n = 0, k = 0;
    skip[0] = 0;
    for (size_t i = 0; i < found->n; i++) {
        int of = truth_of(o, &found->at[i]);
        if (of >= 0 && (size_t)of < o->n_own)
            runs[n++] = (size_t)of;
        else if (of < 0 && k < size)
            k += (size_t)snprintf(skip + k, size - k, "%s%ld", k ? " " : "", found->at[i].number);
    }
    return n;
}

/* What is true of the time over the road, as compare means it: from the runs' mean start and entry
 * speed to where, on the mean, they still roll at 3 m/s, on the road that most runs share. */
static double true_time(const struct world_outing *o, const struct found *found) {
    double from = 0, to = 0, entry = 0;
    size_t n = 0;
    int way = 0;
    for (size_t i = 0; i < found->n; i++) {
        const struct found_run *f = &found->at[i];
        int of = truth_of(o, f);
        if (of < 0 || (size_t)of >= o->n_own || f->road > 1) continue;
        if (way && o->run[of].way != way) return NAN; /* both ways as one road: not defined */
        way = o->run[of].way;
        struct world_moment start = world_at(o, (size_t)of, f->start_s), end;
        double end_s = f->end_s;
        while ((end = world_at(o, (size_t)of, end_s)).speed_ms < 3 && end_s > f->start_s)
            end_s -= 1.0 / WORLD_TRACE_PER_S;
        from += start.s_m;
        entry += start.speed_ms;
        to += end.s_m;
        n++;
    }
    if (!n) return NAN;
    double k = (double)n;
    return world_time_s(o, 1, way, from / k, to / k, entry / k) -
           world_time_s(o, 0, way, from / k, to / k, entry / k);
}

static void read_fit(const json_t *json, const struct world_outing *o, struct answer *a) {
    const json_t *outing = json_array_get(json_object_get(json, "outings"), 0);
    size_t i;
    json_t *run;
    json_array_foreach(json_object_get(outing, "runs"), i, run) {
        a->fit_runs++;
        struct found_run f = found_run(o, run);
        int of = truth_of(o, &f);
        if (of < 0) continue;
        double cda = o->run[of].cda_m2;
        const json_t *alone = json_object_get(run, "alone");
        struct cw_estimate e = estimate(alone, "cda_m2");
        if (json_is_true(json_object_get(alone, "identifiable")) && tally_known(&e)) {
            a->identifiable++;
            tally_add_estimate(&a->alone, &e, cda, cda);
            e = estimate(alone, "crr");
            tally_add_estimate(&a->alone_crr, &e, o->run[of].crr, 1);
        }
        e = estimate(json_object_get(run, "together"), "cda_m2");
        tally_add_estimate(&a->together, &e, cda, cda);
    }
    const json_t *crr = json_object_get(outing, "crr");
    a->crr[0] = estimate(crr, o->world.tyres ? "narrow" : "all");
    a->crr[1] = estimate(crr, o->world.tyres ? "wide" : "");
}

/* The wind of the runs, where it says them. */
static void read_winds(const json_t *json, const struct world_outing *o, const struct found *found,
                       struct answer *a) {
    size_t i;
    json_t *run;
    json_array_foreach(json_object_get(json, "runs"), i, run) {
        struct cw_estimate e = estimate(run, "wind_along_ms");
        for (size_t k = 0; k < found->n && tally_known(&e); k++) {
            int of = truth_of(o, &found->at[k]);
            if (found->at[k].number != (long)number(run, "number") || of < 0) continue;
            tally_add_estimate(&a->wind, &e, o->run[0].way * o->run[of].way * o->run[of].wind_ms,
                               1);
        }
    }
}

/* The comparison of b; NULL if there is none. */
static const json_t *comparison(const json_t *of) {
    size_t i;
    json_t *c;
    json_array_foreach(json_object_get(of, "comparisons"), i,
                       c) if (!strcmp(text(c, "setup"), "b")) return c;
    return NULL;
}

static double true_runout_m(const struct world_outing *o) {
    double sum[2] = {0, 0}, n[2] = {0, 0};
    for (size_t i = 0; i < o->n_own; i++) {
        sum[o->run[i].setup] += o->run[i].way * world_at(o, i, o->run[i].end_s).s_m;
        n[o->run[i].setup]++;
    }
    return sum[1] / n[1] - sum[0] / n[0];
}

static int verdict(const json_t *comparison, const char *key) {
    const char *verdict = text(comparison, key);
    return !strcmp(verdict, "lower") ? -1 : !strcmp(verdict, "higher");
}

/* How much more of it setup b takes to ride on the flat in still air. */
static double true_power_w(const struct world_outing *o, double crr_difference) {
    double v = FLAT_KMH / 3.6, mass = o->rider_kg[0] + o->bike_kg[0];
    double crr_b = o->crr[0] * world_crr_share(o) + crr_difference;
    double rolling = o->gravity_ms2 * (crr_difference * mass + crr_b * o->load_kg);
    double density = air_density_kgm3(&o->air, o->air.height_m);
    return v * (rolling + density / 2 * (o->cda_m2[1] - o->cda_m2[0]) * v * v);
}

static void read_tyres(const json_t *comparison, const struct world_outing *o, struct answer *a) {
    const json_t *forces = json_object_get(comparison, "force_at_kmh"), *at;
    size_t i;
    a->crr_difference = estimate(comparison, "crr_difference");
    a->crr_verdict = verdict(comparison, "crr_verdict");
    a->true_crr_difference = (o->crr[1] - o->crr[0]) * world_crr_share(o);
    json_array_foreach(forces, i, at) if (fabs(number(at, "speed_kmh") - FLAT_KMH) < 0.01)
        a->power_w = estimate(at, "power_w");
    a->true_power_w = true_power_w(o, a->true_crr_difference);
}

static void read_compare(const json_t *json, const struct world_outing *o,
                         const struct found *found, struct answer *a) {
    size_t i;
    json_t *setup;
    json_array_foreach(json_object_get(json, "setups"), i, setup) {
        const char *name = text(setup, "name");
        if (!strcmp(name, "a") || !strcmp(name, "b"))
            a->level[name[0] - 'a'] = estimate(setup, "cda_m2");
    }
    read_winds(json, o, found, a);
    const json_t *measured = json_array_get(json_object_get(json, "as_measured"), 0);
    a->runout_m = estimate(json_object_get(comparison(measured), "runout_m"), "difference");
    a->true_runout_m = true_runout_m(o);
    const json_t *c = comparison(json);
    a->percent = estimate(c, "percent");
    a->time_s = estimate(c, "time_over_road_s");
    a->verdict = verdict(c, "verdict");
    read_tyres(c, o, a);
    a->truth_percent = 100 * (o->cda_m2[1] / o->cda_m2[0] - 1);
    a->answered = tally_known(&a->percent);
    if (!a->answered) snprintf(a->why, sizeof a->why, "compare: no difference in its answer");
}

static void ask(const struct asking *asking, const struct world_outing *o, const char *directory,
                struct answer *a) {
    static struct found found;
    size_t runs[4 * WORLD_RUNS_MAX];
    for (size_t i = 0; i < o->n_own; i++) runs[i] = i;
    if (!world_write_recordings(o, directory) ||
        !world_write_outing(o, directory, runs, o->n_own, NULL)) {
        snprintf(a->why, sizeof a->why, "the files could not be written");
        return;
    }
    program_run(asking->program, "runs",
                directory); /* whether it likes the order or not, it tells the runs */
    json_t *json = program_answer("runs", directory);
    read_found(json, o, &found);
    json_decref(json);
    judge_found(o, &found, a);
    if (asking->runs_only) {
        snprintf(a->why, sizeof a->why, "only runs were asked for");
        return;
    }
    if (asking->label_found) {
        char skip[1024];
        size_t n = label_found(o, &found, runs, skip, sizeof skip);
        if (!n || !world_write_outing(o, directory, runs, n, skip)) {
            snprintf(a->why, sizeof a->why, "no run that was one is found");
            return;
        }
    }
    int status = program_run(asking->program, "compare", directory);
    if (status != 0) {
        program_complaint("compare", status, directory, a->why);
        return;
    }
    json = program_answer("compare", directory);
    read_compare(json, o, &found, a);
    json_decref(json);
    if (!a->answered) return;
    a->true_time_s = true_time(o, &found);
    a->fitted = program_run(asking->program, "fit", directory) == 0;
    if (!a->fitted) return;
    json = program_answer("fit", directory);
    read_fit(json, o, a);
    json_decref(json);
}

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

struct answer answer_make(const struct asking *asking, const struct world *world, uint64_t seed,
                          const char *directory) {
    struct world_outing o;
    struct answer a = {.seed = seed, .true_time_s = NAN};
    a.level[0] = a.level[1] = a.crr[0] = a.crr[1] = a.time_s = a.percent = a.runout_m =
        a.crr_difference = a.power_w = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    double begin = now();
    if (world_ride(world, seed, &o)) {
        for (int b = 0; b < 2; b++) {
            a.true_level[b] = o.cda_m2[b];
            a.true_crr[b] = o.crr[b] * world_crr_share(&o);
        }
        ask(asking, &o, directory, &a);
        if (asking->with_truth) world_write_truth(&o, directory);
    } else {
        snprintf(a.why, sizeof a.why, "the outing could not be ridden");
    }
    world_outing_free(&o);
    a.took_s = now() - begin;
    return a;
}
