#include "compare/compare.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "compare/budget.h"
#include "compare/history_make.h"
#include "compare/labels.h"
#include "compare/order.h"
#include "compare/rolling.h"
#include "compare/run_model.h"
#include "compare/told.h"
#include "compare/winds.h"
#include "compare/workings.h"
#include "compare/worth.h"
#include "fit/workings.h"
#include "stats/power.h"
#include "stats/ratio.h"
#include "stats/tests.h"

struct cw_compare_options cw_compare_options_default(void) {
    return (struct cw_compare_options){.reference = NULL, .level = 0.05};
}

const char *cw_verdict_text(enum cw_verdict verdict) {
    switch (verdict) {
    case CW_VERDICT_LOWER:
        return "lower";
    case CW_VERDICT_HIGHER:
        return "higher";
    case CW_VERDICT_UNDECIDED:
        break;
    }
    return "undecided";
}

const char *cw_told_of_text(enum cw_told_of told) {
    static const char *const texts[] = {"none", "sum", "drag", "rolling", "both"};
    return texts[told];
}

static bool own(const struct cw_setup_result *setup) {
    return !*setup->rider;
}

/* Keeps the order of the others. */
static void companions_last(struct cw_compare *compare) {
    for (size_t i = 1; i < compare->n_setups; i++) {
        struct cw_setup_result setup = compare->setups[i];
        size_t at = i;
        while (at && own(&setup) && !own(&compare->setups[at - 1])) {
            compare->setups[at] = compare->setups[at - 1];
            at--;
        }
        compare->setups[at] = setup;
    }
}

/* Setups by name over all outings: the reference first, then as the outings name them, companions'
 * behind the outings' own riders'. */
static enum cw_status name_setups(const struct cw_fit *const *fits, size_t n, const char *reference,
                                  struct cw_compare *compare, struct cw_error *error) {
    size_t most = 0;
    for (size_t o = 0; o < n; o++) most += fits[o]->of.outing->n_setups;
    compare->setups = calloc(most ? most : 1, sizeof *compare->setups);
    if (!compare->setups) return cw_error_memory(error);
    for (size_t o = 0; o < n; o++) {
        const struct cw_outing *outing = fits[o]->of.outing;
        for (size_t s = 0; s < outing->n_setups; s++) {
            size_t runs = 0;
            for (size_t i = 0; i < fits[o]->n_runs; i++) runs += fits[o]->runs[i].setup == s;
            if (!runs) continue;
            size_t at = cw_compare_setup_named(compare, outing->setups[s].name);
            struct cw_setup_result *setup = &compare->setups[at];
            if (at == compare->n_setups) {
                compare->n_setups++;
                setup->name = outing->setups[s].name;
                setup->rider = outing->setups[s].rider
                                   ? cw_outing_rider(outing, outing->setups[s].rider)->name
                                   : "";
                setup->load_kg = outing->setups[s].load_kg;
                setup->pressure_kpa = cw_outing_pressure_kpa(outing, outing->setups[s].tyres);
                setup->tyres = outing->setups[s].tyres;
            }
            setup->runs += runs;
            setup->outings++;
        }
    }
    if (!compare->n_setups)
        return cw_error_set(error, CW_E_DATA, n ? fits[0]->of.outing->file : NULL, 0,
                            "no run has a setup; name the setups and give `order` in [runs]");
    companions_last(compare);
    if (!reference) return CW_OK;
    size_t at = cw_compare_setup_named(compare, reference);
    if (at == compare->n_setups)
        return cw_error_set(error, CW_E_DATA, n ? fits[0]->of.outing->file : NULL, 0,
                            "no run is of a setup called '%s'", reference);
    struct cw_setup_result first = compare->setups[at];
    memmove(compare->setups + 1, compare->setups, at * sizeof first);
    compare->setups[0] = first;
    return CW_OK;
}

/* Those that tell no CdA go last. */
static enum cw_status part_setups(const struct cw_fit *const *fits, size_t n,
                                  struct cw_compare *compare, struct cw_error *error) {
    size_t m = compare->n_setups, last = 0;
    struct cw_setup_result *parted = calloc(m, sizeof *parted), *untold = calloc(m, sizeof *untold);
    enum cw_status status = parted && untold ? CW_OK : cw_error_memory(error);
    for (size_t s = 0; s < m && status >= 0; s++) {
        struct cw_setup_result *setup = &compare->setups[s];
        setup->cda_m2 = setup->crr = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
        setup->correlation = NAN;
        status = cw_told_level(fits, n, setup->name, &setup->level_told, &setup->usual_part, error);
        if (status < 0) break;
        if (setup->level_told || cw_told_beside(fits, n, compare, s)) {
            parted[compare->n_told++] = *setup;
            continue;
        }
        cw_warning_add(&compare->warnings, CW_COMPARE_NOT_TOLD + (int)s, 0,
                       "the runs of %s tell no CdA and are not compared: coast further, over a "
                       "wider range of speeds, more often",
                       setup->name);
        untold[last++] = *setup;
    }
    if (status >= 0) {
        memcpy(parted + compare->n_told, untold, last * sizeof *untold);
        free(compare->setups);
        compare->setups = parted;
        parted = NULL;
    }
    free(parted);
    free(untold);
    return status;
}

static const struct cw_fit *with_both(const struct cw_fit *const *fits, size_t n,
                                      const struct cw_table_of_runs *table, size_t a, size_t b) {
    for (size_t o = 0; o < n; o++) {
        bool has_a = false, has_b = false;
        for (size_t i = 0; i < table->n; i++) {
            if (table->run[i].outing != o) continue;
            has_a |= table->run[i].setup == a;
            has_b |= table->run[i].setup == b;
        }
        if (has_a && has_b) return fits[o];
    }
    return NULL;
}

/* The first outing that names a setup's drag says which it is; NULL: none does. */
static const char *drag_name(const struct cw_fit *const *fits, size_t n, const char *setup) {
    for (size_t o = 0; o < n; o++) {
        const struct cw_outing *outing = fits[o]->of.outing;
        for (size_t s = 0; s < outing->n_setups; s++)
            if (!strcmp(outing->setups[s].name, setup) && *outing->setups[s].drag)
                return outing->setups[s].drag;
    }
    return NULL;
}

/* Which setups are said to have the same drag: of one rider's. */
static void name_drags(const struct cw_fit *const *fits, size_t n, struct cw_compare *compare) {
    for (size_t s = 0; s < compare->n_setups; s++) {
        const char *name = drag_name(fits, n, compare->setups[s].name);
        size_t at = s;
        for (size_t r = 0; r < s && name && at == s; r++) {
            const char *other = drag_name(fits, n, compare->setups[r].name);
            if (other && !strcmp(other, name) &&
                !strcmp(compare->setups[r].rider, compare->setups[s].rider))
                at = r;
        }
        compare->setups[s].drag = at;
    }
}

static double runs_needed(double log_difference, double sd, double level) {
    struct cw_error unused;
    double n;
    if (cw_power_runs(CW_POWER_TWO_GROUPS, log_difference, sd, level, 0.8, &n, &unused) < 0)
        return NAN;
    return ceil(n);
}

/* Beyond this Student's t is the normal distribution, and power is not worked out. */
static const double most_df = 1e5;

void cw_compare_workings_free(struct cw_compare_workings *workings) {
    if (!workings) return;
    cw_rolling_free(&workings->rolling);
    cw_run_model_free(&workings->model);
    cw_table_of_runs_free(&workings->table);
    free(workings->fits);
    free(workings);
}

/* The smallest difference that would show with 80 % power. */
static enum cw_status smallest(double standard_error, double df, double level, double *detectable,
                               struct cw_error *error) {
    double noncentrality;
    enum cw_status status =
        cw_power_noncentrality(fmin(df, most_df), level, 0.8, &noncentrality, error);
    if (status >= 0) *detectable = noncentrality * standard_error;
    return status;
}

static const struct cw_rolling_weights of_drag = {{1, -1}, {0, 0}}, of_crr = {{0, 0}, {1, -1}};

/* Drag beside rolling takes what both runs' winds do to it through the tyres; without that it is
 * the run model's. */
static enum cw_status difference_of(const struct cw_run_model *model,
                                    const struct cw_rolling *rolling, size_t setup,
                                    size_t reference, struct cw_run_difference *difference,
                                    struct cw_error *error) {
    enum cw_status status = cw_run_model_difference(model, setup, reference, difference, error);
    if (status >= 0 && cw_rolling_differs(rolling, setup, reference))
        status = cw_rolling_contrast(rolling, setup, reference, &of_drag, &difference->log_ratio,
                                     &difference->df, &difference->p_value, error);
    return status;
}

static enum cw_status compare_drag(const struct cw_compare_workings *ground,
                                   const struct cw_compare *compare,
                                   struct cw_comparison *comparison, struct cw_estimate *l,
                                   struct cw_error *error) {
    const struct cw_run_model *model = &ground->model;
    struct cw_run_difference difference;
    size_t setup = comparison->setup, reference = comparison->reference;
    enum cw_status status =
        difference_of(model, &ground->rolling, setup, reference, &difference, error);
    if (status < 0) return status;
    double c = exp(model->log_cda[model->drag[reference]]);
    *l = difference.log_ratio;
    comparison->df = difference.df;
    comparison->p_value = difference.p_value;
    comparison->difference_m2 =
        (struct cw_estimate){c * expm1(l->value), c * exp(l->value) * l->standard_error,
                             c * expm1(l->low), c * expm1(l->high), 0};
    comparison->percent =
        (struct cw_estimate){100 * expm1(l->value), 100 * exp(l->value) * l->standard_error,
                             100 * expm1(l->low), 100 * expm1(l->high), 0};
    comparison->noise_percent = 100 * exp(l->value) * difference.noise;
    status = smallest(l->standard_error, comparison->df, ground->level,
                      &comparison->smallest_detectable_percent, error);
    if (status < 0) return status;
    comparison->smallest_detectable_percent *= 100;
    /* What one run scatters by, as if both setups' runs did alike. */
    double sd = l->standard_error / sqrt(1 / (double)compare->setups[setup].runs +
                                         1 / (double)compare->setups[reference].runs);
    comparison->runs_to_show_seen = runs_needed(l->value, sd, ground->level);
    comparison->runs_to_show_2_percent = runs_needed(log(1.02), sd, ground->level);
    return CW_OK;
}

/* Both are said to have the same drag: there is no difference, and nothing was asked of the runs.
 */
static void same_drag(struct cw_comparison *comparison, struct cw_estimate *l) {
    *l = comparison->difference_m2 = comparison->percent = (struct cw_estimate){0};
    comparison->noise_percent = 0;
    comparison->df = comparison->p_value = comparison->smallest_detectable_percent = NAN;
    comparison->runs_to_show_seen = comparison->runs_to_show_2_percent = NAN;
}

static enum cw_status compare_rolling(const struct cw_compare_workings *ground,
                                      const struct cw_compare *compare, const struct cw_estimate *l,
                                      struct cw_comparison *comparison, struct cw_error *error) {
    const struct cw_rolling *rolling = &ground->rolling;
    struct cw_rolling_difference *d = &comparison->rolling;
    const struct cw_estimate unknown = {NAN, NAN, NAN, NAN, 0};
    size_t setup = comparison->setup, reference = comparison->reference;
    *d = (struct cw_rolling_difference){.compared = cw_rolling_differs(rolling, setup, reference),
                                        .crr = unknown};
    d->percent = unknown;
    d->df = d->p_value = d->smallest_detectable = d->correlation = NAN;
    d->sum_p_value = d->standard_error_if_same_drag = NAN;
    if (!d->compared) return CW_OK;
    enum cw_status status = cw_rolling_contrast(rolling, setup, reference, &of_crr, &d->crr, &d->df,
                                                &d->p_value, error);
    if (status >= 0)
        status =
            smallest(d->crr.standard_error, d->df, ground->level, &d->smallest_detectable, error);
    if (status >= 0)
        status = cw_rolling_correlation(rolling, setup, reference, &of_drag, l->standard_error,
                                        &of_crr, d->crr.standard_error, &d->correlation, error);
    if (status < 0) return status;
    static const struct cw_rolling_weights of_reference = {{0, 0}, {0, 1}};
    const struct cw_estimate *crr = &compare->setups[reference].crr;
    double correlation;
    status = cw_rolling_correlation(rolling, setup, reference, &of_crr, d->crr.standard_error,
                                    &of_reference, crr->standard_error, &correlation, error);
    if (status < 0) return status;
    d->percent =
        cw_ratio(100 * d->crr.value, 100 * d->crr.standard_error, crr->value, crr->standard_error,
                 correlation, 0.5 * (d->crr.high - d->crr.low) / d->crr.standard_error);
    return CW_OK;
}

static enum cw_status compare_pair(const struct cw_compare_workings *ground, size_t setup,
                                   size_t reference, struct cw_compare *compare,
                                   struct cw_comparison *comparison, struct cw_error *error) {
    const struct cw_run_model *model = &ground->model;
    const struct cw_table_of_runs *table = &ground->table;
    struct cw_estimate l;
    enum cw_status status = CW_OK;
    *comparison = (struct cw_comparison){.setup = setup, .reference = reference};
    comparison->drag_said = model->drag[setup] == model->drag[reference];
    comparison->hours_later = cw_order_hours_later(table->run, table->n, setup, reference);
    if (comparison->drag_said)
        same_drag(comparison, &l);
    else
        status = compare_drag(ground, compare, comparison, &l, error);
    if (status >= 0) status = compare_rolling(ground, compare, &l, comparison, error);
    if (status < 0) return status;
    const struct cw_fit *both = with_both(ground->fits, ground->n, table, setup, reference);
    if (comparison->rolling.compared)
        status = cw_worth_of_both(both, compare, &ground->rolling, comparison, error);
    else
        cw_worth_of_drag(both, compare, exp(model->log_cda[model->drag[reference]]), &l,
                         comparison);
    comparison->wind_to_explain_ms =
        both && !comparison->drag_said ? l.value / cw_log_cda_by_wind(both) : NAN;
    return status;
}

static enum cw_verdict verdict_of(double p_adjusted, double level, double value) {
    if (!(p_adjusted < level)) return CW_VERDICT_UNDECIDED;
    return value < 0 ? CW_VERDICT_LOWER : CW_VERDICT_HIGHER;
}

/* The first comparison of the same two drags, and of the same two sets of tyres: one test, however
 * many setups have them. */
static size_t first_of_drags(const struct cw_compare *compare, size_t i) {
    const struct cw_comparison *c = compare->comparisons, *of = &c[i];
    size_t at = 0;
    for (; at < i; at++) {
        size_t a = compare->setups[c[at].setup].drag, b = compare->setups[c[at].reference].drag,
               x = compare->setups[of->setup].drag, y = compare->setups[of->reference].drag;
        if ((a == x && b == y) || (a == y && b == x)) break;
    }
    return at;
}

static size_t first_of_tyres(const struct cw_compare *compare, const struct cw_rolling *rolling,
                             size_t i) {
    const struct cw_comparison *c = compare->comparisons, *of = &c[i];
    size_t at = 0;
    for (; at < i; at++) {
        if (!c[at].rolling.compared) continue;
        size_t a = rolling->of_setup[c[at].setup], b = rolling->of_setup[c[at].reference],
               x = rolling->of_setup[of->setup], y = rolling->of_setup[of->reference];
        if ((a == x && b == y) || (a == y && b == x)) break;
    }
    return at;
}

/* scratch: four numbers a comparison. */
static void judge(struct cw_compare *compare, const struct cw_rolling *rolling, double level,
                  double *scratch) {
    size_t m = compare->n_comparisons;
    double *p = scratch, *adjusted = scratch + 2 * m;
    for (size_t i = 0; i < m; i++) {
        const struct cw_comparison *c = &compare->comparisons[i];
        p[i] = first_of_drags(compare, i) == i ? c->p_value : NAN;
        p[m + i] = c->rolling.compared && first_of_tyres(compare, rolling, i) == i
                       ? c->rolling.p_value
                       : NAN;
    }
    cw_holm_adjust(2 * m, p, adjusted);
    for (size_t i = 0; i < m; i++) {
        struct cw_comparison *c = &compare->comparisons[i];
        c->p_adjusted = c->drag_said ? NAN : adjusted[first_of_drags(compare, i)];
        c->verdict = verdict_of(c->p_adjusted, level, c->percent.value);
        c->rolling.p_adjusted =
            c->rolling.compared ? adjusted[m + first_of_tyres(compare, rolling, i)] : NAN;
        c->rolling.verdict = verdict_of(c->rolling.p_adjusted, level, c->rolling.crr.value);
    }
    for (size_t i = 0; i < m; i++) p[i] = compare->comparisons[i].rolling.sum_p_value;
    cw_holm_adjust(m, p, adjusted);
    for (size_t i = 0; i < m; i++) {
        struct cw_comparison *c = &compare->comparisons[i];
        bool drag = c->verdict != CW_VERDICT_UNDECIDED,
             rolls = c->rolling.verdict != CW_VERDICT_UNDECIDED;
        c->rolling.sum_p_adjusted = adjusted[i];
        c->rolling.told = drag && rolls         ? CW_TOLD_BOTH
                          : drag                ? CW_TOLD_DRAG
                          : rolls               ? CW_TOLD_ROLLING
                          : adjusted[i] < level ? CW_TOLD_SUM
                                                : CW_TOLD_NONE;
    }
}

/* The same runs with other drags: those of table, taken from ground's. */
static enum cw_status take_drags_so(const struct cw_compare_workings *ground,
                                    const struct cw_compare *compare,
                                    const struct cw_table_of_runs *table,
                                    struct cw_run_model *model, struct cw_rolling *rolling,
                                    struct cw_error *error) {
    struct cw_warnings unused = {0};
    enum cw_status status = cw_run_model_fit(table, ground->fits, true, model, &unused, error);
    return status < 0 ? status
                      : cw_rolling_fit(table, ground->fits, compare, model, rolling, error);
}

/* The table with a list of drags of its own. */
static enum cw_status other_drags(const struct cw_table_of_runs *table,
                                  struct cw_table_of_runs *other, struct cw_error *error) {
    *other = *table;
    other->drag = malloc((table->n_setups + 1) * sizeof *other->drag);
    if (!other->drag) return cw_error_memory(error);
    memcpy(other->drag, table->drag, table->n_setups * sizeof *other->drag);
    return CW_OK;
}

/* Where setups are said to have the same drag: whether the runs, asked without that, say so too. */
static enum cw_status doubt_said(const struct cw_compare_workings *ground,
                                 struct cw_compare *compare, struct cw_error *error) {
    struct cw_table_of_runs apart;
    struct cw_run_model model = {0};
    struct cw_rolling rolling = {0};
    size_t said = ground->table.n_setups - ground->table.n_drags;
    if (!said) return CW_OK;
    enum cw_status status = other_drags(&ground->table, &apart, error);
    if (status < 0) return status;
    cw_table_of_runs_drags_apart(&apart);
    status = take_drags_so(ground, compare, &apart, &model, &rolling, error);
    for (size_t s = 0; s < compare->n_told && status >= 0; s++) {
        struct cw_run_difference difference;
        size_t first = compare->setups[s].drag;
        if (first == s) continue;
        status = difference_of(&model, &rolling, s, first, &difference, error);
        /* Bonferroni over all that is said */
        if (status < 0 || !(difference.p_value * (double)said < ground->level)) continue;
        const struct cw_estimate *l = &difference.log_ratio;
        double low = 100 * expm1(l->low), high = 100 * expm1(l->high);
        cw_warning_add(&compare->warnings, CW_COMPARE_SAID_SAME + (int)s, 0,
                       "%s and %s are said to have the same drag, yet %s has %.1f %% %s (%.1f to "
                       "%.1f %%): look what else differed, or leave out drag =",
                       compare->setups[first].name, compare->setups[s].name,
                       compare->setups[s].name, fabs(100 * expm1(l->value)),
                       l->value < 0 ? "less" : "more", fmin(fabs(low), fabs(high)),
                       fmax(fabs(low), fabs(high)));
    }
    cw_rolling_free(&rolling);
    cw_run_model_free(&model);
    free(apart.drag);
    return status;
}

/* What it would bring to say that the first two setups on different tyres have the same drag. */
static enum cw_status ask_if_said(const struct cw_compare_workings *ground,
                                  struct cw_compare *compare, struct cw_error *error) {
    struct cw_table_of_runs same;
    struct cw_run_model model = {0};
    struct cw_rolling rolling = {0};
    size_t i = 0;
    while (i < compare->n_comparisons && !compare->comparisons[i].rolling.compared) i++;
    if (i == compare->n_comparisons || compare->comparisons[i].drag_said) return CW_OK;
    struct cw_comparison *c = &compare->comparisons[i];
    enum cw_status status = other_drags(&ground->table, &same, error);
    if (status < 0) return status;
    cw_table_of_runs_one_drag(&same, c->setup, c->reference);
    status = take_drags_so(ground, compare, &same, &model, &rolling, error);
    if (status >= 0) {
        struct cw_estimate crr;
        status =
            cw_rolling_contrast(&rolling, c->setup, c->reference, &of_crr, &crr, NULL, NULL, error);
        if (status >= 0) c->rolling.standard_error_if_same_drag = crr.standard_error;
    }
    cw_rolling_free(&rolling);
    cw_run_model_free(&model);
    free(same.drag);
    return status;
}

/* The levels of a setup: its mean CdA, and its tyres' Crr. Beside other tyres, in one outing, winds
 * are in Crr too. */
static enum cw_status tell_setup(const struct cw_compare_workings *ground, size_t s,
                                 struct cw_setup_result *setup, struct cw_error *error) {
    static const struct cw_rolling_weights drag = {{1, 0}, {0, 0}}, crr = {{0, 0}, {1, 0}};
    const struct cw_rolling *rolling = &ground->rolling;
    struct cw_estimate log_cda;
    enum cw_status status =
        cw_run_model_level(&ground->model, &ground->table, s, &setup->cda_m2, error);
    if (status >= 0)
        status = cw_run_model_crr(&ground->model, &ground->table, ground->fits, s, &setup->crr,
                                  &setup->correlation, error);
    if (status < 0 || ground->n > 1 || !rolling->n_tyres || rolling->of_setup[s] == SIZE_MAX)
        return status;
    status = cw_rolling_contrast(rolling, s, s, &drag, &log_cda, NULL, NULL, error);
    if (status >= 0)
        status = cw_rolling_contrast(rolling, s, s, &crr, &setup->crr, NULL, NULL, error);
    if (status >= 0)
        status = cw_rolling_correlation(rolling, s, s, &drag, log_cda.standard_error, &crr,
                                        setup->crr.standard_error, &setup->correlation, error);
    return status;
}

/* compare's workings have their fits. */
static enum cw_status compare_ridden(const struct cw_compare_options *options,
                                     struct cw_compare *compare, struct cw_error *error) {
    struct cw_compare_workings *ground = compare->workings;
    const struct cw_fit *const *fits = ground->fits;
    size_t n = ground->n;
    struct cw_table_of_runs *table = &ground->table;
    struct cw_run_model *model = &ground->model;
    double *scratch = NULL, *weight = NULL;
    ground->level = options->level;
    enum cw_status status = name_setups(fits, n, options->reference, compare, error);
    if (status >= 0) status = part_setups(fits, n, compare, error);
    if (status < 0) goto cleanup;
    name_drags(fits, n, compare);
    compare->wind_percent_per_ms = compare->systematic_percent = NAN;
    compare->systematic_difference_percent = compare->noise_percent = NAN;
    compare->scatter_percent = NAN;
    compare->scatter_low_percent = compare->scatter_high_percent = NAN;
    compare->wind_sd_ms = compare->wind_sd_low_ms = compare->wind_sd_high_ms = NAN;
    if (!compare->n_told) goto cleanup;
    status = cw_table_of_runs_make(fits, n, compare, table, error);
    if (status >= 0) status = cw_run_model_fit(table, fits, true, model, &compare->warnings, error);
    if (status >= 0) status = cw_rolling_fit(table, fits, compare, model, &ground->rolling, error);
    for (size_t s = 0; s < compare->n_told && status >= 0; s++)
        status = tell_setup(ground, s, &compare->setups[s], error);
    if (status < 0) goto cleanup;
    size_t pairs = compare->n_told * (compare->n_told - 1) / 2;
    compare->comparisons = calloc(pairs ? pairs : 1, sizeof *compare->comparisons);
    scratch = malloc((4 * pairs + 1) * sizeof *scratch);
    if (!compare->comparisons || !scratch) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    for (size_t r = 0; r < compare->n_told; r++)
        for (size_t s = r + 1; s < compare->n_told; s++) {
            /* Riders are never compared with each other. */
            if (strcmp(compare->setups[r].rider, compare->setups[s].rider) != 0) continue;
            status = compare_pair(ground, s, r, compare,
                                  &compare->comparisons[compare->n_comparisons], error);
            if (status < 0) goto cleanup;
            compare->n_comparisons++;
        }
    judge(compare, &ground->rolling, options->level, scratch);
    status = doubt_said(ground, compare, error);
    if (status >= 0) status = ask_if_said(ground, compare, error);
    if (status < 0) goto cleanup;
    compare->has_drift = model->n_drifts > 0;
    compare->drift_percent_per_hour = model->drift_percent_per_hour;
    if (model->components.n_components > 1) {
        compare->scatter_percent = 100 * model->components.of[CW_BETWEEN_OWN].median;
        compare->scatter_low_percent = 100 * model->components.of[CW_BETWEEN_OWN].low;
        compare->scatter_high_percent = 100 * model->components.of[CW_BETWEEN_OWN].high;
        compare->wind_sd_ms = model->components.of[CW_BETWEEN_WIND].median;
        compare->wind_sd_low_ms = model->components.of[CW_BETWEEN_WIND].low;
        compare->wind_sd_high_ms = model->components.of[CW_BETWEEN_WIND].high;
    }
    compare->n_runs = table->n;
    cw_run_model_among(model, fits, table->run);
    weight = malloc(table->n * sizeof *weight);
    if (!weight) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    if (compare->n_comparisons)
        cw_run_model_weights(model, compare->comparisons[0].setup,
                             compare->comparisons[0].reference, weight);
    compare->wind_percent_per_ms = 100 * expm1(cw_log_cda_by_wind(fits[table->run[0].outing]));
    status =
        cw_compare_budget(fits, n, table, compare->n_comparisons ? weight : NULL, compare, error);
    if (status >= 0)
        status = cw_winds_tell(table, fits, model, compare->n_comparisons ? weight : NULL, compare,
                               error);
    if (status < 0) goto cleanup;
    compare->runs = malloc(table->n * sizeof *compare->runs);
    if (compare->runs)
        memcpy(compare->runs, table->run, table->n * sizeof *compare->runs);
    else
        status = cw_error_memory(error);
cleanup:
    free(scratch);
    free(weight);
    if (status < 0) cw_compare_free(compare);
    return status;
}

/* An outing's fit and its place among those given. */
struct ridden {
    const struct cw_fit *fit;
    size_t given;
};

static double start_of(const struct cw_fit *fit) {
    return fit->n_runs ? fit->of.runs->at[fit->runs[0].run].start_s : INFINITY;
}

static int by_start(const void *a, const void *b) {
    const struct ridden *x = a, *y = b;
    double one = start_of(x->fit), other = start_of(y->fit);
    if (one != other) return one > other ? 1 : -1;
    return (x->given > y->given) - (x->given < y->given);
}

static int as_given(const void *a, const void *b) {
    const struct cw_run_among *x = a, *y = b;
    if (x->outing != y->outing) return x->outing > y->outing ? 1 : -1;
    return (x->index > y->index) - (x->index < y->index);
}

/* Of the outings' own riders: a companion's run is like none of theirs. */
static enum cw_status doubt_labels(struct cw_compare *compare, struct cw_error *error) {
    size_t n = 0, most = compare->n_runs + 1, setups = 0;
    size_t *setup = malloc(2 * most * sizeof *setup), *place = setup + most;
    double *log_cda = malloc(most * sizeof *log_cda);
    while (setups < compare->n_told && own(&compare->setups[setups])) setups++;
    for (size_t i = 0; i < compare->n_runs && setup && log_cda; i++) {
        const struct cw_run_among *run = &compare->runs[i];
        if (run->setup >= setups) continue;
        setup[n] = run->setup;
        place[n] = i;
        log_cda[n++] = log(run->cda_m2.value);
    }
    enum cw_status status = setup && log_cda ? CW_OK : cw_error_memory(error);
    if (status >= 0) cw_labels_look(setup, log_cda, n, setups, &compare->doubt);
    for (size_t k = 0; k < compare->doubt.n && status >= 0; k++)
        compare->doubt.run[k] = place[compare->doubt.run[k]];
    free(setup);
    free(log_cda);
    return status;
}

/* Compared as they were ridden, by each outing's first run, so that nothing hangs on the order in
 * which outings are given: whose road the seconds are of, whose drift is told, which setup comes
 * first. */
enum cw_status cw_compare_setups(const struct cw_fit *const *fits, size_t n,
                                 const struct cw_compare_options *options,
                                 struct cw_compare *compare, struct cw_error *error) {
    struct ridden *ridden = calloc(n ? n : 1, sizeof *ridden);
    struct cw_compare_workings *workings = calloc(1, sizeof *workings);
    struct cw_compare_options usual = cw_compare_options_default();
    *compare = (struct cw_compare){.workings = workings};
    if (workings) workings->fits = calloc(n ? n : 1, sizeof *workings->fits);
    enum cw_status status = ridden && workings && workings->fits ? CW_OK : cw_error_memory(error);
    if (status < 0) {
        cw_compare_free(compare);
        goto cleanup;
    }
    workings->n = n;
    if (!options) options = &usual;
    for (size_t o = 0; o < n; o++) ridden[o] = (struct ridden){fits[o], o};
    qsort(ridden, n, sizeof *ridden, by_start);
    for (size_t o = 0; o < n; o++) workings->fits[o] = ridden[o].fit;
    status = compare_ridden(options, compare, error);
    if (status < 0) goto cleanup;
    for (size_t i = 0; i < compare->n_runs; i++)
        compare->runs[i].outing = ridden[compare->runs[i].outing].given;
    if (compare->n_runs) qsort(compare->runs, compare->n_runs, sizeof *compare->runs, as_given);
    status = doubt_labels(compare, error);
    if (status >= 0) status = cw_history_make(fits, n, compare, &compare->history, error);
    if (status < 0) cw_compare_free(compare);
cleanup:
    free(ridden);
    return status;
}

void cw_compare_free(struct cw_compare *compare) {
    free(compare->setups);
    free(compare->comparisons);
    free(compare->runs);
    free(compare->causes);
    cw_history_free(&compare->history);
    cw_compare_workings_free(compare->workings);
    *compare = (struct cw_compare){0};
}

bool cw_comparison_asks_load(const struct cw_comparison *comparison) {
    static const double least_part = 0.01;
    return comparison->time_split.told &&
           fabs(comparison->heavier_kg) >= least_part * comparison->reference_kg;
}

size_t cw_compare_setup_named(const struct cw_compare *compare, const char *name) {
    size_t s = 0;
    while (s < compare->n_setups && strcmp(compare->setups[s].name, name)) s++;
    return s;
}

bool cw_compare_tells_rolling(const struct cw_compare *compare) {
    for (size_t i = 0; i < compare->n_comparisons; i++)
        if (compare->comparisons[i].rolling.compared && !compare->comparisons[i].drag_said)
            return true;
    return false;
}
