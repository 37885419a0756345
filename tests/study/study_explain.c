/* How good the explanations are: made-up outings whose setups differ in one thing, and how many
 * intervals of the parts hold what the simulator's own descents have with that thing changed.
 * usage: study_explain CASE|all N [FIRST-SEED] [-v]
 *
 * The truth of a part: the simulator's descent from the first gate, with everything half way
 * between the two setups and that one thing the setup's, less the same with the reference's. Of
 * what is left unexplained the truth is 0. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "explain/explain.h"
#include "outings.h"
#include "simulate/course.h"
#include "simulate/way.h"
#include "tally.h"

#define ROLLS "road=300:-6,500:0.5 "
#define UP "road=350:-6,400:2.5 "
#define LOAD "setups=bare:0.42,water:0.42:0.005:8 "
#define DRAG "setups=bare:0.42,cape:0.4326 "
#define START "setups=bare:0.42,pushed:0.42:0.005:0:all:1.5 "
#define NOTHING "setups=bare:0.42,again:0.42 "
#define TYRES "setups=narrow:0.42:0.005:0:narrow,wide:0.42:0.0055:0:wide "

static const struct study_case own_cases[] = {
    {"load", "8 kg more and nothing else", LOAD, false},
    {"drag", "3 % more CdA and nothing else", DRAG, false},
    {"start", "started 1.5 m/s faster and nothing else", START, false},
    {"nothing", "no difference", NOTHING, false},
    {"load-rolls", "8 kg more, on a road that rolls out", LOAD ROLLS, false},
    {"drag-rolls", "3 % more CdA, on a road that rolls out", DRAG ROLLS, false},
    {"start-rolls", "1.5 m/s faster, on a road that rolls out", START ROLLS, false},
    {"load-up", "8 kg more, through a dip and up to a standstill", LOAD UP, false},
    {"drag-up", "3 % more CdA, through a dip and up to a standstill", DRAG UP, false},
    {"start-up", "1.5 m/s faster, through a dip and up to a standstill", START UP, false},
    {"tyres-rolls", "other tyres, on a road that rolls out", TYRES ROLLS, false},
    {"load-phone", "8 kg more, positions and satellites' heights only",
     LOAD "speed=none distance=no cadence=no format=gpx elevation=satellite", false},
    {"load-breeze", "8 kg more, winds that differ from run to run",
     LOAD "run-wind-sd-ms=0.3 wander-wind-sd-ms=0.2", false},
    {"load-noted", "the same, noted to 0.1 m/s",
     LOAD "run-wind-sd-ms=0.3 wander-wind-sd-ms=0.2 note-wind=yes", false},
    {"load-few", "8 kg more, four runs", LOAD "order=bare,water,water,bare", false},
    {"held", "8 kg more, a held start, 750 m at -10 %", LOAD "road=steep start-speed-ms=0", false},
};
#define OWN_CASES (sizeof own_cases / sizeof *own_cases)

struct results {
    size_t outings, told;
    struct tally part[CW_EXPLAINED][CW_PARTS];
    double most_off; /* of the sum from the whole */
};

/* The simulator's road from a gate on. */
struct truth {
    const struct study_outing *outing;
    struct cw_course course;
    struct cw_way way;
    double from_m, dip_m, to_m, shift_m; /* gates, as the simulator's road counts */
};

static double height_from(double s_m, const void *state) {
    const struct truth *t = state;
    return cw_way_height(t->from_m + s_m, &t->way);
}

static double sine_from(double s_m, const void *state) {
    const struct truth *t = state;
    return cw_way_sine(t->from_m + s_m, &t->way);
}

static double coast(const struct truth *t, const double x[CW_MODEL_PARTS], double length_m,
                    bool stands) {
    const struct cw_simulate_options *o = &t->outing->options;
    const struct cw_bicycle bicycle = {.mass_kg = x[CW_PART_MASS],
                                       .cda_m2 = x[CW_PART_DRAG],
                                       .crr = x[CW_PART_ROLLING],
                                       .wheel_inertia_kgm2 = o->wheel_inertia_kgm2,
                                       .wheel_radius_m = o->wheel_radius_m};
    const struct cw_simulated *made = &t->outing->made.truth;
    const struct cw_surroundings air = {
        .density_kgm3 = x[CW_PART_DENSITY],
        .gravity_ms2 = made->gravity_ms2,
        .wind_along_ms = x[CW_PART_WIND],
        .column = cw_air_column_make(o->height_m - made->drop_m / 2, o->temperature_c,
                                     100 * o->pressure_hpa, 0.01 * o->humidity_percent,
                                     0.001 * o->lapse_k_km, made->gravity_ms2)};
    struct cw_descent_road road = {height_from, sine_from, t, length_m};
    struct cw_descent_options how = cw_descent_options_default();
    struct cw_descent descent;
    how.start_speed_ms = x[CW_PART_START];
    double result = NAN;
    if (cw_descent_run(&bicycle, &air, &road, &how, &descent, NULL) >= 0 &&
        descent.stopped == stands)
        result = stands ? descent.end_s_m : descent.end_time_s;
    cw_descent_free(&descent);
    return result;
}

static double quantity(const struct truth *t, const double x[CW_MODEL_PARTS], int q) {
    double down = t->dip_m - t->from_m, whole = t->to_m - t->from_m;
    switch (q) {
    case CW_EXPLAINED_TIME:
        return coast(t, x, whole, false);
    case CW_EXPLAINED_DOWN:
        return coast(t, x, down, false);
    case CW_EXPLAINED_FAR:
        return coast(t, x, whole, false) - coast(t, x, down, false);
    default:
        return coast(t, x, t->course.length_m - t->from_m, true);
    }
}

/* Where a made run truly was, and how fast, at a time. */
static double at_time(const struct cw_descent *d, double time_s, double *speed_ms) {
    size_t i = 0;
    while (i + 2 < d->n && d->time_s[i + 1] < time_s) i++;
    double h = d->time_s[i + 1] - d->time_s[i], u = (time_s - d->time_s[i]) / h, v = 1 - u;
    *speed_ms = d->speed_ms[i] * v + d->speed_ms[i + 1] * u;
    return d->s_m[i] * v * v * (1 + 2 * u) + d->s_m[i + 1] * u * u * (1 + 2 * v) +
           h * u * v * (d->speed_ms[i] * v - d->speed_ms[i + 1] * u);
}

static double speed_at(const struct cw_descent *d, double s_m) {
    size_t i = 0;
    while (i + 2 < d->n && d->s_m[i + 1] < s_m) i++;
    double u = (s_m - d->s_m[i]) / (d->s_m[i + 1] - d->s_m[i]);
    return sqrt(d->speed_ms[i] * d->speed_ms[i] * (1 - u) +
                d->speed_ms[i + 1] * d->speed_ms[i + 1] * u);
}

/* The gates' true place is where the runs were, on the mean, when they were timed there. */
static void set_gates(struct truth *t, const struct cw_explanation *e) {
    const struct cw_timed *timed = &t->outing->made.of->timed;
    double n = 0;
    t->shift_m = 0;
    for (size_t k = 0; k < timed->n; k++) {
        const struct cw_simulated_run *run = made_truth(&t->outing->made, timed->runs[k].run);
        for (size_t g = 0; g < timed->n_gates; g++) {
            double unused, time_s = timed->runs[k].at[g].time_s - run->start_s;
            if (!isfinite(time_s)) continue;
            t->shift_m += at_time(&run->descent, time_s, &unused) - timed->gates_m[g];
            n++;
        }
    }
    t->shift_m /= n;
    t->from_m = e->from_m + t->shift_m;
    t->dip_m = e->dip_m + t->shift_m;
    t->to_m = e->to_m + t->shift_m;
}

/* The means of what the setups' runs were truly like. */
static void set_states(const struct truth *t, double x[2][CW_MODEL_PARTS]) {
    const struct cw_timed *timed = &t->outing->made.of->timed;
    double n[2] = {0, 0};
    memset(x, 0, 2 * sizeof *x);
    for (size_t k = 0; k < timed->n; k++) {
        const struct cw_simulated_run *run = made_truth(&t->outing->made, timed->runs[k].run);
        int side = run->setup == 1 ? 0 : 1;
        const struct cw_simulate_setup *setup = &t->outing->options.setups[run->setup];
        x[side][CW_PART_MASS] += run->mass_kg;
        x[side][CW_PART_DRAG] += setup->cda_m2;
        x[side][CW_PART_ROLLING] += run->crr;
        x[side][CW_PART_DENSITY] += run->density_kgm3;
        x[side][CW_PART_START] += speed_at(&run->descent, t->from_m);
        x[side][CW_PART_WIND] += t->outing->options.note_wind ? run->shared_wind_ms : 0;
        n[side]++;
    }
    for (int side = 0; side < 2; side++)
        for (int c = 0; c < CW_MODEL_PARTS; c++) x[side][c] /= n[side];
}

static void add(const struct study_outing *o, struct results *r, int verbose) {
    struct cw_analysis *analysis = (struct cw_analysis *)&o->made.analysis;
    struct cw_error error;
    const struct cw_analysis_compare_options how = {.reference = o->options.setups[0].name};
    if (cw_analysis_compare(analysis, &how, &error) < 0 || cw_analysis_time(analysis, &error) < 0 ||
        cw_analysis_explain(analysis, &error) < 0) {
        fprintf(stderr, "seed %lu: not explained: %s\n", o->options.seed, error.message);
        return;
    }
    if (!o->made.of->explained.n) return;
    const struct cw_explanation *e = &o->made.of->explained.at[0];
    struct truth t = {.outing = o};
    double x[2][CW_MODEL_PARTS];
    if (cw_course_make(&o->options, 200, 200, &t.course, &error) < 0) return;
    t.way = (struct cw_way){&t.course, 1};
    set_gates(&t, e);
    set_states(&t, x);
    r->told += e->of[CW_EXPLAINED_TIME].told;
    for (int q = 0; q < CW_EXPLAINED; q++) {
        const struct cw_split *split = &e->of[q];
        if (!split->told) continue;
        double off =
            cw_split_explained(split) + split->part[CW_PART_LEFT].value - split->measured.value;
        r->most_off = fmax(r->most_off, fabs(off));
        if (verbose)
            printf("seed %lu %d: measured %+.3f (%.3f)", o->options.seed, q, split->measured.value,
                   split->measured.standard_error);
        for (int c = 0; c < CW_PARTS; c++) {
            double one[CW_MODEL_PARTS], other[CW_MODEL_PARTS], truth = 0;
            for (int i = 0; i < CW_MODEL_PARTS; i++) {
                one[i] = other[i] = 0.5 * (x[0][i] + x[1][i]);
                if (i == c) one[i] = x[0][i];
                if (i == c) other[i] = x[1][i];
            }
            if (c < CW_MODEL_PARTS) truth = quantity(&t, one, q) - quantity(&t, other, q);
            if (!isfinite(split->part[c].value)) continue;
            if (!isfinite(truth)) {
                fprintf(stderr, "seed %lu: quantity %d: no truth of %s\n", o->options.seed, q,
                        cw_part_text((enum cw_part)c));
                continue;
            }
            tally_add(&r->part[q][c], split->part[c].value - truth, split->part[c].standard_error,
                      tally_inside(&split->part[c], truth));
            if (verbose)
                printf(" %s %+.3f (%.3f) truth %+.3f;", cw_part_text((enum cw_part)c),
                       split->part[c].value, split->part[c].standard_error, truth);
        }
        if (verbose) printf("\n");
    }
    cw_course_free(&t.course);
}

static void study(const struct study_case *c, size_t n, unsigned long first, int verbose) {
    static const char *const quantities[CW_EXPLAINED] = {"time, s", "down, s", "far side, s",
                                                         "run-out, m"};
    struct results r = {0};
    for (size_t i = 0; i < n; i++) {
        struct study_outing outing;
        study_outing_make_stated(c, first + i, &outing);
        r.outings++;
        if (outing.fitted) add(&outing, &r, verbose);
        study_outing_free(&outing);
    }
    printf("%s: %s; explained %zu of %zu; sums within %.1g\n", c->name, c->meaning, r.told,
           r.outings, r.most_off);
    for (int q = 0; q < CW_EXPLAINED; q++)
        for (int part = 0; part < CW_PARTS; part++) {
            char what[80];
            if (!r.part[q][part].n) continue;
            snprintf(what, sizeof what, "%s: %s", quantities[q], cw_part_text((enum cw_part)part));
            tally_print(what, &r.part[q][part], 1);
        }
    fflush(stdout);
}

int main(int argc, char **argv) {
    if (argc < 3) {
        fprintf(stderr, "usage: study_explain CASE|all N [FIRST-SEED] [-v]\n");
        for (size_t i = 0; i < OWN_CASES; i++)
            fprintf(stderr, "  %-18s %s\n", own_cases[i].name, own_cases[i].meaning);
        return 2;
    }
    int verbose = !strcmp(argv[argc - 1], "-v");
    unsigned long first = argc > 3 && argv[3][0] != '-' ? strtoul(argv[3], NULL, 10) : 1;
    size_t n = strtoul(argv[2], NULL, 10), done = 0;
    for (size_t i = 0; i < OWN_CASES; i++)
        if (!strcmp(argv[1], "all") || !strcmp(argv[1], own_cases[i].name)) {
            study(&own_cases[i], n, first, verbose);
            done++;
        }
    if (!done) fprintf(stderr, "study_explain: no case is called '%s'\n", argv[1]);
    return done ? 0 : 2;
}
