#include "explain/explain.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "compare/workings.h"
#include "explain/coast.h"
#include "explain/left.h"
#include "explain/runout.h"
#include "explain/share.h"
#include "fit/workings.h"
#include "stats/student.h"

enum { SETUP, REFERENCE, SIDES };

/* All that explanations of an outing are made from. */
struct ground {
    const struct cw_fit *fit;
    const struct cw_compare *compare;
    const struct cw_timed *timed; /* all the way */
    const struct cw_explained_times *more;
    struct cw_runout_stretch stretch;
    double shape_m[CW_MODEL_PARTS]; /* half of what the last metres' shape makes of a part */
    struct cw_explained_road road;
    size_t number;                 /* of the outing among the workings' */
    struct cw_explained_run *runs; /* room for all of a pair */
};

/* Where a quantity was measured. */
static const struct cw_timed *measured_in(const struct ground *g, enum cw_explained_quantity q,
                                          enum cw_timed_quantity *as) {
    *as = q == CW_EXPLAINED_RUNOUT ? CW_TIMED_RUNOUT : CW_TIMED_TIME;
    return q == CW_EXPLAINED_DOWN  ? &g->more->half[0]
           : q == CW_EXPLAINED_FAR ? &g->more->half[1]
                                   : g->timed;
}

static size_t setup_in(const struct ground *g, size_t compared) {
    const struct cw_outing *outing = g->fit->of.outing;
    for (size_t s = 0; s < outing->n_setups; s++)
        if (!strcmp(outing->setups[s].name, g->compare->setups[compared].name)) return s;
    return SIZE_MAX;
}

/* ---- what the runs were like ---- */

/* The run's place in the comparison's table of runs; SIZE_MAX: it has none. */
static size_t place_in_table(const struct ground *g, size_t fit_run) {
    const struct cw_table_of_runs *table = &g->compare->workings->table;
    for (size_t t = 0; t < table->n; t++)
        if (table->run[t].outing == g->number && table->run[t].index == fit_run) return t;
    return SIZE_MAX;
}

/* CdA and Crr of a pair's setups, as the comparison has them. */
static void set_level(const struct ground *g, const struct cw_comparison *c, double cda[SIDES],
                      double crr[SIDES]) {
    const struct cw_setup_result *setups = g->compare->setups;
    const size_t of[SIDES] = {c->setup, c->reference};
    cda[REFERENCE] = setups[c->reference].cda_m2.value;
    cda[SETUP] = cda[REFERENCE] * (1 + c->percent.value / 100);
    for (int side = 0; side < SIDES; side++) {
        const char *tyres = g->fit->of.outing->setups[setup_in(g, of[side])].tyres;
        crr[side] = setups[of[side]].crr.value;
        for (size_t t = 0; t < g->fit->n_tyres && !isfinite(crr[side]); t++)
            if (!strcmp(g->fit->tyres[t], tyres)) crr[side] = g->fit->workings->ways.crr[t];
    }
    if (c->rolling.compared) crr[SETUP] = crr[REFERENCE] + c->rolling.crr.value;
    for (int side = 0; side < SIDES; side++) crr[side] = fmax(0, crr[side]);
}

/* Sets g->runs to the timed runs of the pair; returns how many. */
static size_t gather(const struct ground *g, const struct cw_comparison *c, bool wind_known) {
    const struct cw_compare_workings *workings = g->compare->workings;
    double cda[SIDES], crr[SIDES];
    size_t n = 0;
    set_level(g, c, cda, crr);
    for (size_t k = 0; k < g->timed->n; k++) {
        const struct cw_timed_run *timed = &g->timed->runs[k];
        size_t i = 0;
        while (i < g->fit->n_runs && g->fit->runs[i].run != timed->run) i++;
        size_t at = i < g->fit->n_runs ? place_in_table(g, i) : SIZE_MAX;
        if (at == SIZE_MAX || !isfinite(timed->entry_speed_ms.value)) continue;
        const struct cw_run_among *among = &workings->table.run[at];
        if (among->setup != c->setup && among->setup != c->reference) continue;
        const struct cw_fit_run *fitted = &g->fit->runs[i];
        const struct cw_fit_way *way = &g->fit->workings->ways.at[i];
        struct cw_explained_run *run = &g->runs[n++];
        *run = (struct cw_explained_run){.timed = k, .in_table = at};
        run->side = among->setup == c->setup ? SETUP : REFERENCE;
        run->recording = way->recording;
        run->state.of[CW_PART_MASS] = fitted->mass_kg;
        run->state.of[CW_PART_DRAG] = cda[run->side];
        run->state.of[CW_PART_ROLLING] = way->crr_share * crr[run->side];
        /* At one height: that a quick run was sooner further down is not the air's doing. */
        run->state.of[CW_PART_DENSITY] = way->air_density_kgm3;
        run->state.of[CW_PART_START] = timed->entry_speed_ms.value;
        run->state.of[CW_PART_WIND] = wind_known ? among->wind_along_ms.value : way->wind_along_ms;
        run->speed_ms = timed->entry_speed_ms;
        run->wind_error_ms = wind_known ? among->wind_along_ms.noise_standard_error : 0;
        run->warmer_k = way->warmer_k;
        /* What its own log CdA is off by, that no wind which somebody saw explains. */
        size_t drag = workings->model.drag[among->setup];
        run->own_log = workings->table.log_cda[at] - workings->model.log_cda[drag];
        if (wind_known)
            run->own_log -= workings->model.between.by[at] * workings->model.wind_ms[at];
    }
    return n;
}

/* What of the pair's runs have the quantity, and what each counts in the difference of the means;
 * false where a side has none. */
static bool take(const struct ground *g, enum cw_explained_quantity q, size_t n,
                 size_t count[SIDES]) {
    enum cw_timed_quantity as;
    const struct cw_timed *timed = measured_in(g, q, &as);
    count[SETUP] = count[REFERENCE] = 0;
    for (size_t k = 0; k < n; k++) {
        struct cw_explained_run *run = &g->runs[k];
        run->measured = timed->n ? *cw_timed_of(&timed->runs[run->timed], as)
                                 : (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
        if (!isfinite(run->measured.value)) continue;
        count[run->side]++;
    }
    for (size_t k = 0; k < n; k++) {
        struct cw_explained_run *run = &g->runs[k];
        run->weight = !isfinite(run->measured.value) ? 0
                      : run->side == SETUP           ? 1 / (double)count[SETUP]
                                                     : -1 / (double)count[REFERENCE];
    }
    return count[SETUP] && count[REFERENCE];
}

static void means(const struct cw_explained_run *runs, size_t n,
                  struct cw_explained_state state[SIDES]) {
    for (int side = 0; side < SIDES; side++) state[side] = (struct cw_explained_state){0};
    for (size_t k = 0; k < n; k++)
        for (int c = 0; c < CW_MODEL_PARTS && runs[k].weight != 0; c++)
            state[runs[k].side].of[c] += fabs(runs[k].weight) * runs[k].state.of[c];
}

/* ---- how sure the parts are ---- */

/* Something known to a standard error and to half a 95 % interval, squared: independent ones add.
 */
struct spread {
    double variance, half2;
};

static void add_normal(struct spread *spread, double standard_error) {
    double half = cw_t_quantile(0.975, INFINITY) * standard_error;
    spread->variance += standard_error * standard_error;
    spread->half2 += half * half;
}

/* By CdA and Crr, known together. Of the same tyres Crr comes beside the drags, with its
 * correlation with each. */
static enum cw_status add_level(const struct ground *g, const struct cw_comparison *c,
                                const double by_log_cda[SIDES], const double by_crr[SIDES],
                                struct spread *spread, struct cw_error *error) {
    const struct cw_compare_workings *workings = g->compare->workings;
    const struct cw_setup_result *setups = g->compare->setups;
    struct cw_estimate line;
    enum cw_status status = CW_OK;
    double crr = by_crr[0] + by_crr[1]; /* of the same tyres */
    if (by_log_cda[0] == 0 && by_log_cda[1] == 0 && (c->rolling.compared ? by_crr[0] : crr) == 0)
        return CW_OK;
    if (c->rolling.compared) {
        const struct cw_rolling_weights weights = {{by_log_cda[0], by_log_cda[1]},
                                                   {by_crr[0], by_crr[1]}};
        status = cw_rolling_contrast(&workings->rolling, c->setup, c->reference, &weights, &line,
                                     NULL, NULL, error);
        if (status < 0) return status;
        spread->variance += line.standard_error * line.standard_error;
        spread->half2 += 0.25 * (line.high - line.low) * (line.high - line.low);
        return CW_OK;
    }
    double *contrast = calloc(workings->model.p, sizeof *contrast);
    if (!contrast) return cw_error_memory(error);
    contrast[workings->model.drag[c->setup]] += by_log_cda[SETUP];
    contrast[workings->model.drag[c->reference]] += by_log_cda[REFERENCE];
    status =
        cw_components_contrast(&workings->model.components, contrast, &line, NULL, NULL, error);
    free(contrast);
    if (status < 0) return status;
    double variance = line.standard_error * line.standard_error,
           half = 0.5 * (line.high - line.low), more = 0;
    const struct cw_setup_result *both[SIDES] = {&setups[c->setup], &setups[c->reference]};
    double crr_error = both[REFERENCE]->crr.standard_error;
    if (crr_error > 0) {
        more = crr * crr * crr_error * crr_error;
        for (int side = 0; side < SIDES; side++)
            if (isfinite(both[side]->correlation))
                more += 2 * crr * by_log_cda[side] * both[side]->correlation * crr_error *
                        both[side]->cda_m2.standard_error / both[side]->cda_m2.value;
    }
    double whole = fmax(variance + more, 0);
    spread->variance += whole;
    spread->half2 += variance > 0 ? half * half * whole / variance
                                  : pow(cw_t_quantile(0.975, INFINITY), 2) * whole;
    return CW_OK;
}

static double cause_uncertainty(const struct cw_fit *fit, enum cw_cause_kind kind) {
    const struct cw_budget *budget = &fit->workings->budget;
    for (size_t k = 0; k < budget->n; k++)
        if (budget->causes[k].kind == kind) return budget->causes[k].uncertainty;
    return 0;
}

/* What is known of the inputs of a part itself, beside CdA and Crr. */
static void add_own(const struct ground *g, const struct cw_comparison *c, enum cw_part part,
                    const struct cw_explained_run *runs, size_t n, double slope,
                    const struct cw_explained_state state[SIDES], struct spread *spread) {
    const struct cw_outing *outing = g->fit->of.outing;
    const size_t of[SIDES] = {setup_in(g, c->setup), setup_in(g, c->reference)};
    double sum = 0;
    if (part == CW_PART_MASS) {
        bool loaded[SIDES];
        for (int side = 0; side < SIDES; side++)
            loaded[side] = outing->setups[of[side]].load_kg != 0;
        if (loaded[SETUP] != loaded[REFERENCE])
            add_normal(spread, slope * cause_uncertainty(g->fit, CW_CAUSE_LOAD));
    } else if (part == CW_PART_ROLLING) {
        for (size_t k = 0; k < n; k++) sum += runs[k].weight * runs[k].warmer_k;
        add_normal(spread, slope * sum * state[REFERENCE].of[CW_PART_ROLLING] *
                               g->fit->crr_fall_1k.standard_error);
    } else if (part == CW_PART_DENSITY) {
        for (size_t r = 0; r < g->fit->of.n_recordings; r++) {
            const struct cw_recording_air *air = &g->fit->workings->air[r];
            double share = 0;
            for (size_t k = 0; k < n; k++)
                if (runs[k].recording == r)
                    share += runs[k].weight * runs[k].state.of[CW_PART_DENSITY];
            if (share != 0)
                add_normal(spread, slope * share * cw_air_parts_error(&air->place, air->own));
        }
    } else if (part == CW_PART_START) {
        for (size_t k = 0; k < n; k++) {
            double by = runs[k].weight * slope,
                   half = 0.5 * by * (runs[k].speed_ms.high - runs[k].speed_ms.low);
            spread->variance += pow(by * runs[k].speed_ms.standard_error, 2);
            spread->half2 += half * half;
        }
    } else if (part == CW_PART_WIND) {
        for (size_t k = 0; k < n; k++)
            add_normal(spread, runs[k].weight * slope * runs[k].wind_error_ms);
    }
}

static struct cw_estimate spread_about(double value, const struct spread *spread) {
    double half = sqrt(spread->half2);
    return (struct cw_estimate){value, sqrt(spread->variance), value - half, value + half, 0};
}

/* What is not known of the road where runs stand still: of a value in metres, and by how much its
 * slope's shape moves that. */
static void add_last_metres(const struct ground *g, double value_m, double shape_m,
                            struct spread *spread) {
    double by = value_m / g->stretch.value * g->stretch.standard_error;
    add_normal(spread, shape_m);
    if (!(by != 0)) return;
    double half = cw_t_quantile(0.975, g->stretch.df) * by;
    spread->variance += by * by;
    spread->half2 += half * half;
}

/* A part's estimate. To first order a part is the cause's slope half way times its change, so that
 * it answers to CdA and Crr of both sides by half of how they bend that slope, and, where it is
 * their own, by the slope. */
static enum cw_status part_of(const struct ground *g, const struct cw_comparison *c,
                              const struct cw_shares *shares,
                              const struct cw_explained_state state[SIDES], size_t n,
                              enum cw_part part, enum cw_explained_quantity q,
                              struct cw_estimate *estimate, struct cw_error *error) {
    struct spread spread = {0};
    double change = state[SETUP].of[part] - state[REFERENCE].of[part],
           slope = shares->slope[part][q], by_log_cda[SIDES], by_crr[SIDES];
    for (int side = 0; side < SIDES; side++) {
        double own = side == SETUP ? slope : -slope;
        by_log_cda[side] = 0.5 * change * shares->by_drag[part][q];
        by_crr[side] = 0.5 * change * shares->by_rolling[part][q];
        if (part == CW_PART_DRAG) by_log_cda[side] += own;
        if (part == CW_PART_ROLLING) by_crr[side] += own;
        by_log_cda[side] *= state[side].of[CW_PART_DRAG];
    }
    enum cw_status status = add_level(g, c, by_log_cda, by_crr, &spread, error);
    if (status < 0) return status;
    add_own(g, c, part, g->runs, n, slope, state, &spread);
    if (q == CW_EXPLAINED_RUNOUT)
        add_last_metres(g, shares->part[part][q], g->shape_m[part], &spread);
    *estimate = spread_about(shares->part[part][q], &spread);
    return CW_OK;
}

/* What is left answers to the last metres against what all parts together do. */
static void widen_left(const struct ground *g, double explained_m, struct cw_split *split) {
    struct cw_estimate *left = &split->part[CW_PART_LEFT];
    double half = 0.5 * (left->high - left->low), shape_m = 0;
    struct spread spread = {left->standard_error * left->standard_error, half * half};
    for (int part = 0; part < CW_MODEL_PARTS; part++) shape_m += g->shape_m[part];
    add_last_metres(g, explained_m, shape_m, &spread);
    *left = spread_about(left->value, &spread);
}

/* ---- a pair ---- */

/* How long the last metres are, by the pair's own runs. */
static enum cw_status set_stretch(struct ground *g, size_t n, double even, struct cw_error *error) {
    g->stretch = (struct cw_runout_stretch){1, 0, NAN};
    g->road.stretch = 1;
    g->road.even = even;
    if (!g->more->at_end.n) return CW_OK;
    enum cw_status status = cw_runout_stretch_make(&g->road, g->timed, &g->more->at_end, g->runs, n,
                                                   &g->stretch, error);
    g->road.stretch = g->stretch.value;
    return status;
}

static const double half_even = 0.5;

/* What the shape of the last metres makes of the parts. */
static enum cw_status doubt_shape(struct ground *g, size_t n,
                                  const struct cw_explained_state state[SIDES],
                                  struct cw_error *error) {
    struct cw_shares shares[2];
    enum cw_status status = CW_OK;
    for (int even = 0; even < 2 && status >= 0; even++) {
        status = set_stretch(g, n, even, error);
        if (status >= 0)
            status =
                cw_shares_make(&g->road, &state[SETUP], &state[REFERENCE], &shares[even], error);
    }
    for (int part = 0; part < CW_MODEL_PARTS && status >= 0; part++)
        g->shape_m[part] = 0.5 * (shares[1].part[part][CW_EXPLAINED_RUNOUT] -
                                  shares[0].part[part][CW_EXPLAINED_RUNOUT]);
    return status < 0 ? status : set_stretch(g, n, half_even, error);
}

static enum cw_status split(struct ground *g, const struct cw_comparison *c, size_t n,
                            enum cw_explained_quantity q, struct cw_explanation *explanation,
                            struct cw_error *error) {
    struct cw_split *split = &explanation->of[q];
    struct cw_explained_state state[SIDES];
    struct cw_timed_difference difference;
    struct cw_shares shares;
    enum cw_timed_quantity as;
    size_t count[SIDES];
    *split = cw_split_unknown();
    explanation->by_percent_cda[q] = NAN;
    if (!take(g, q, n, count)) return CW_OK;
    means(g->runs, n, state);
    const struct cw_timed *timed = measured_in(g, q, &as);
    enum cw_status status = cw_timed_compare(timed, setup_in(g, c->setup),
                                             setup_in(g, c->reference), as, &difference, error);
    if (status >= 0 && q == CW_EXPLAINED_RUNOUT) status = doubt_shape(g, n, state, error);
    if (status >= 0)
        status = cw_shares_make(&g->road, &state[SETUP], &state[REFERENCE], &shares, error);
    if (status < 0) return status;
    split->measured = difference.difference;
    if (!isfinite(split->measured.value)) return CW_OK;
    for (enum cw_part part = 0; part < CW_MODEL_PARTS; part++) {
        if (!isfinite(shares.part[part][q] + shares.slope[part][q] + shares.by_drag[part][q] +
                      shares.by_rolling[part][q]))
            return CW_OK;
        status = part_of(g, c, &shares, state, n, part, q, &split->part[part], error);
        if (status < 0) return status;
    }
    bool told;
    status = cw_explain_left(&g->road, g->compare->workings, g->runs, n, q,
                             split->measured.value - cw_split_explained(split),
                             split->part[CW_PART_DRAG].standard_error, &split->part[CW_PART_LEFT],
                             &told, error);
    if (status < 0 || !told) return status;
    if (q == CW_EXPLAINED_RUNOUT) widen_left(g, cw_split_explained(split), split);
    if (q == CW_EXPLAINED_TIME) {
        for (int side = 0; side < SIDES; side++) {
            explanation->runs[side] = count[side];
            memcpy(explanation->state[side], state[side].of, sizeof state[side].of);
        }
    }
    explanation->by_percent_cda[q] =
        0.01 * state[SETUP].of[CW_PART_DRAG] * shares.slope[CW_PART_DRAG][q];
    explanation->by_crr[q] = shares.slope[CW_PART_ROLLING][q];
    split->told = true;
    /* A wind that nobody saw, alike for all as far as anybody knows. */
    if (!explanation->wind_known && split->part[CW_PART_WIND].value == 0)
        split->part[CW_PART_WIND] = cw_split_unknown().part[CW_PART_WIND];
    return CW_OK;
}

/* Whether it rolled less far than it should have, or further, for all but drag and rolling. */
static void look_for_contrary(struct cw_explanation *explanation) {
    struct cw_contrary *contrary = &explanation->contrary;
    const struct cw_split *runout = &explanation->of[CW_EXPLAINED_RUNOUT];
    const struct cw_estimate *measured = &runout->measured, *mass = &runout->part[CW_PART_MASS];
    *contrary = (struct cw_contrary){.expected_m = NAN, .cda_percent = NAN, .crr = NAN};
    contrary->beyond_m = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    if (!runout->told || !(mass->value * measured->value < 0)) return;
    contrary->expected_m = 0;
    for (int c = 0; c < CW_MODEL_PARTS; c++)
        if (c != CW_PART_DRAG && c != CW_PART_ROLLING && isfinite(runout->part[c].value))
            contrary->expected_m += runout->part[c].value;
    contrary->is = true;
    contrary->beyond_m = *measured;
    contrary->beyond_m.value -= contrary->expected_m;
    contrary->beyond_m.low -= contrary->expected_m;
    contrary->beyond_m.high -= contrary->expected_m;
    contrary->scatter = !(contrary->beyond_m.low > 0 || contrary->beyond_m.high < 0);
    double by_cda = explanation->by_percent_cda[CW_EXPLAINED_RUNOUT],
           by_crr = explanation->by_crr[CW_EXPLAINED_RUNOUT];
    contrary->cda_percent = contrary->beyond_m.value / by_cda;
    contrary->crr = contrary->beyond_m.value / by_crr;
    contrary->cda_time_s = contrary->cda_percent * explanation->by_percent_cda[CW_EXPLAINED_TIME];
    contrary->crr_time_s = contrary->crr * explanation->by_crr[CW_EXPLAINED_TIME];
}

static enum cw_status explain_pair(struct ground *g, const struct cw_comparison *c,
                                   struct cw_explanation *explanation, struct cw_error *error) {
    *explanation = (struct cw_explanation){.setup = c->setup,
                                           .reference = c->reference,
                                           .from_m = g->road.from_m,
                                           .dip_m = g->road.dip_m,
                                           .to_m = g->road.to_m,
                                           .wind_known = cw_winds_known(&g->compare->wind)};
    size_t n = gather(g, c, explanation->wind_known);
    enum cw_status status = set_stretch(g, n, half_even, error);
    for (enum cw_explained_quantity q = 0; q < CW_EXPLAINED && status >= 0; q++)
        status = split(g, c, n, q, explanation, error);
    if (status >= 0) look_for_contrary(explanation);
    return status;
}

static enum cw_status time_between(const struct cw_ridden *ridden, double from_m, double to_m,
                                   struct cw_timed *timed, struct cw_error *error) {
    struct cw_timed_options options = cw_timed_options_default();
    if (!isfinite(from_m) || !isfinite(to_m)) return CW_OK;
    options.n_gates = 2;
    options.gates_m[0] = from_m;
    options.gates_m[1] = to_m;
    return cw_timed_make(ridden, &options, timed, error);
}

static struct cw_explained_road road_of(const struct cw_fit *fit, const struct cw_timed *timed) {
    struct cw_explained_road road = {
        .fit = fit, .from_m = timed->gates_m[0], .to_m = timed->gates_m[timed->n_gates - 1]};
    for (size_t k = 0; k < timed->n; k++) road.rolls_out |= isfinite(timed->runs[k].runout_m.value);
    cw_explained_find_dip(&road);
    road.end_m = cw_runout_end_m(timed);
    cw_runout_set_even(timed, &road);
    return road;
}

enum cw_status cw_explained_times_make(const struct cw_ridden *ridden, const struct cw_fit *fit,
                                       const struct cw_timed *timed,
                                       struct cw_explained_times *times, struct cw_error *error) {
    *times = (struct cw_explained_times){0};
    if (!timed->n) return CW_OK;
    const struct cw_explained_road road = road_of(fit, timed);
    enum cw_status status = time_between(ridden, road.from_m, road.dip_m, &times->half[0], error);
    if (status >= 0) status = time_between(ridden, road.dip_m, road.to_m, &times->half[1], error);
    if (status >= 0) status = time_between(ridden, road.from_m, road.end_m, &times->at_end, error);
    if (status < 0) cw_explained_times_free(times);
    return status;
}

void cw_explained_times_free(struct cw_explained_times *times) {
    for (int half = 0; half < 2; half++) cw_timed_free(&times->half[half]);
    cw_timed_free(&times->at_end);
}

static bool has_runs(const struct ground *g, size_t compared) {
    size_t setup = setup_in(g, compared);
    for (size_t k = 0; k < g->timed->n; k++)
        if (setup != SIZE_MAX && g->timed->runs[k].setup == setup) return true;
    return false;
}

enum cw_status cw_explain(const struct cw_fit *fit, const struct cw_timed *timed,
                          const struct cw_explained_times *more, const struct cw_compare *compare,
                          size_t outing, struct cw_explained *explained, struct cw_error *error) {
    struct ground g = {.fit = fit, .compare = compare, .timed = timed, .more = more};
    const struct cw_compare_workings *workings = compare->workings;
    *explained = (struct cw_explained){0};
    while (g.number < workings->n && workings->fits[g.number] != fit) g.number++;
    if (!timed->n || g.number == workings->n || !compare->n_comparisons) return CW_OK;
    g.road = road_of(fit, timed);
    g.runs = calloc(timed->n, sizeof *g.runs);
    explained->at = calloc(compare->n_comparisons, sizeof *explained->at);
    enum cw_status status = g.runs && explained->at ? CW_OK : cw_error_memory(error);
    for (size_t i = 0; i < compare->n_comparisons && status >= 0; i++) {
        const struct cw_comparison *c = &compare->comparisons[i];
        if (!has_runs(&g, c->setup) || !has_runs(&g, c->reference)) continue;
        const struct cw_rider *rider = cw_outing_rider(
            fit->of.outing, fit->of.outing->setups[setup_in(&g, c->reference)].rider);
        g.road.wheel_inertia_kgm2 = rider->wheel_inertia_kgm2;
        g.road.wheel_radius_m = rider->wheel_radius_m;
        status = explain_pair(&g, c, &explained->at[explained->n], error);
        explained->at[explained->n++].outing = outing;
    }
    free(g.runs);
    if (status < 0) cw_explained_free(explained);
    return status;
}

void cw_explained_free(struct cw_explained *explained) {
    free(explained->at);
    *explained = (struct cw_explained){0};
}
