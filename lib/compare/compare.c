#include "compare/compare.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "compare/elsewhere.h"
#include "compare/labels.h"
#include "compare/order.h"
#include "compare/run_model.h"
#include "compare/told.h"
#include "compare/winds.h"
#include "fit/workings.h"
#include "stats/power.h"
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
    if (!parted || !untold) {
        free(parted);
        free(untold);
        return cw_error_memory(error);
    }
    for (size_t s = 0; s < m; s++) {
        struct cw_setup_result *setup = &compare->setups[s];
        setup->cda_m2 = setup->crr = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
        setup->correlation = NAN;
        setup->level_told = cw_told_level(fits, n, setup->name, &setup->usual_part);
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
    memcpy(parted + compare->n_told, untold, last * sizeof *untold);
    free(untold);
    free(compare->setups);
    compare->setups = parted;
    return CW_OK;
}

static size_t outing_setup(const struct cw_outing *outing, const char *name) {
    for (size_t s = 0; s < outing->n_setups; s++)
        if (!strcmp(outing->setups[s].name, name)) return s;
    return SIZE_MAX;
}

/* What a setup is in an outing: its bicycle with a drag area. */
static struct cw_bicycle bicycle_of(const struct cw_fit *fit, size_t setup, double cda) {
    const struct cw_outing *outing = fit->of.outing;
    struct cw_bicycle bicycle = cw_outing_bicycle(outing, outing->setups[setup].rider, setup);
    bicycle.cda_m2 = cda;
    bicycle.crr = 0.005;
    for (size_t t = 0; t < fit->n_tyres; t++)
        if (!strcmp(fit->tyres[t], outing->setups[setup].tyres))
            bicycle.crr = fmax(0, fit->workings->joint.crr[t]);
    return bicycle;
}

/* An estimate from its values at the difference and at the ends of its interval. */
static struct cw_estimate carried(double at, double at_low, double at_high, double se_per_half) {
    struct cw_estimate e = {at, se_per_half * 0.5 * fabs(at_high - at_low), fmin(at_low, at_high),
                            fmax(at_low, at_high), 0};
    return e;
}

/* How much longer the mean run takes in the air of one setup's runs than in that of another's. */
static double time_by_air(const struct cw_fit *fit, const struct cw_mean_run *mean,
                          const struct cw_bicycle *bicycle, size_t setup, size_t reference) {
    const struct cw_joint *joint = &fit->workings->joint;
    const size_t of[2] = {reference, setup};
    double time_s[2], unused;
    if (!cw_joint_warms(joint)) return 0;
    for (int k = 0; k < 2; k++) {
        struct cw_mean_run there = *mean;
        struct cw_bicycle with = *bicycle;
        double n = 0, density = 0, share = 0;
        for (size_t i = 0; i < fit->n_runs; i++) {
            if (fit->runs[i].setup != of[k] || !cw_run_data_is_main(&joint->data[i])) continue;
            density += joint->data[i].surroundings.density_kgm3;
            share += cw_joint_own_crr(joint, i, 1);
            n++;
        }
        if (!(n > 0)) return 0;
        there.surroundings.density_kgm3 = density / n;
        with.crr *= share / n;
        if (cw_mean_run_coast(&there, &with, &time_s[k], &unused, NULL) < 0) return 0;
    }
    return time_s[1] - time_s[0];
}

/* Seconds, metres and watts: the reference at its mean CdA, the setup at that times e^difference.
 */
static void carry_elsewhere(const struct cw_fit *fit, const char *setup_name,
                            const char *reference_name, double reference_cda,
                            const struct cw_estimate *log_difference,
                            struct cw_comparison *comparison) {
    const struct cw_estimate none = {NAN, NAN, NAN, NAN, 0};
    comparison->time_over_road_s = comparison->runout_m = comparison->watts_at_40kmh = none;
    comparison->time_by_clock_s = comparison->time_watched_s = comparison->runout_taped_m = none;
    comparison->time_by_air_s = 0;
    if (!fit) return;
    size_t setup = outing_setup(fit->of.outing, setup_name);
    struct cw_bicycle reference =
        bicycle_of(fit, outing_setup(fit->of.outing, reference_name), reference_cda);
    struct cw_mean_run mean;
    struct cw_error unused;
    double time[4], stop[4], watts[4];
    const double d[4] = {0, log_difference->value, log_difference->low, log_difference->high};
    bool ok = cw_mean_run_make(fit, &mean);
    for (int k = 0; k < 4; k++) {
        struct cw_bicycle bicycle =
            k ? bicycle_of(fit, setup, reference_cda * exp(d[k])) : reference;
        time[k] = stop[k] = NAN;
        if (ok && cw_mean_run_coast(&mean, &bicycle, &time[k], &stop[k], &unused) < 0) ok = false;
        watts[k] =
            cw_flat_power_w(&bicycle, fit->place.density_kgm3, fit->place.gravity_ms2, 40 / 3.6);
    }
    double half = 0.5 * (log_difference->high - log_difference->low);
    double share = half > 0 ? log_difference->standard_error / half : 0;
    comparison->watts_at_40kmh =
        carried(watts[1] - watts[0], watts[2] - watts[0], watts[3] - watts[0], share);
    if (!ok) return;
    comparison->time_over_road_s =
        carried(time[1] - time[0], time[2] - time[0], time[3] - time[0], share);
    comparison->time_by_air_s =
        time_by_air(fit, &mean, &reference, setup, outing_setup(fit->of.outing, reference_name));
    if (isfinite(stop[0] + stop[1] + stop[2] + stop[3]))
        comparison->runout_m =
            carried(stop[1] - stop[0], stop[2] - stop[0], stop[3] - stop[0], share);
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

static double runs_needed(double log_difference, double sd, double level) {
    struct cw_error unused;
    double n;
    if (cw_power_runs(CW_POWER_TWO_GROUPS, log_difference, sd, level, 0.8, &n, &unused) < 0)
        return NAN;
    return ceil(n);
}

/* Beyond this Student's t is the normal distribution, and power is not worked out. */
static const double most_df = 1e5;

static enum cw_status compare_pair(const struct cw_fit *const *fits, size_t n,
                                   const struct cw_table_of_runs *table,
                                   const struct cw_run_model *model, size_t setup, size_t reference,
                                   double level, struct cw_compare *compare,
                                   struct cw_comparison *comparison, struct cw_error *error) {
    struct cw_run_difference difference;
    double noncentrality;
    *comparison = (struct cw_comparison){.setup = setup, .reference = reference};
    enum cw_status status = cw_run_model_difference(model, setup, reference, &difference, error);
    if (status < 0) return status;
    double c = exp(model->log_cda[reference]);
    const struct cw_estimate *l = &difference.log_ratio;
    comparison->hours_later = cw_order_hours_later(table->run, table->n, setup, reference);
    comparison->df = difference.df;
    comparison->p_value = difference.p_value;
    comparison->difference_m2 =
        (struct cw_estimate){c * expm1(l->value), c * exp(l->value) * l->standard_error,
                             c * expm1(l->low), c * expm1(l->high), 0};
    comparison->percent =
        (struct cw_estimate){100 * expm1(l->value), 100 * exp(l->value) * l->standard_error,
                             100 * expm1(l->low), 100 * expm1(l->high), 0};
    comparison->noise_percent = 100 * exp(l->value) * difference.noise;
    status =
        cw_power_noncentrality(fmin(comparison->df, most_df), level, 0.8, &noncentrality, error);
    if (status < 0) return status;
    comparison->smallest_detectable_percent = 100 * noncentrality * l->standard_error;
    /* What one run scatters by, as if both setups' runs did alike. */
    double sd = l->standard_error / sqrt(1 / (double)compare->setups[setup].runs +
                                         1 / (double)compare->setups[reference].runs);
    comparison->runs_to_show_seen = runs_needed(l->value, sd, level);
    comparison->runs_to_show_2_percent = runs_needed(log(1.02), sd, level);
    const struct cw_fit *both = with_both(fits, n, table, setup, reference);
    carry_elsewhere(both, compare->setups[setup].name, compare->setups[reference].name, c, l,
                    comparison);
    comparison->wind_to_explain_ms = both ? l->value / cw_log_cda_by_wind(both) : NAN;
    return CW_OK;
}

static void judge(struct cw_compare *compare, double level, double *scratch) {
    size_t m = compare->n_comparisons;
    for (size_t i = 0; i < m; i++) scratch[i] = compare->comparisons[i].p_value;
    cw_holm_adjust(m, scratch, scratch + m);
    for (size_t i = 0; i < m; i++) {
        struct cw_comparison *c = &compare->comparisons[i];
        c->p_adjusted = scratch[m + i];
        c->verdict = !(c->p_adjusted < level) ? CW_VERDICT_UNDECIDED
                     : c->percent.value < 0   ? CW_VERDICT_LOWER
                                              : CW_VERDICT_HIGHER;
    }
}

/* What a cause of an outing's budget does, in percent: to the mean of its runs' CdA, and to the sum
 * of all runs' log CdA times weight (NaN where that is NULL). False where the outing has no run
 * that is compared. */
static bool effect_of(const struct cw_fit *fit, const struct cw_cause *cause,
                      const struct cw_table_of_runs *table, size_t outing, const double *weight,
                      double *level, double *difference) {
    size_t n = 0;
    *level = 0;
    *difference = weight ? 0 : NAN;
    for (size_t i = 0; i < table->n; i++) {
        if (table->run[i].outing != outing) continue;
        double effect =
            100 * cause->effect[fit->n_tyres + table->run[i].index] / table->reference_m2[i];
        *level += effect;
        if (weight) *difference += weight[i] * effect;
        n++;
    }
    if (n) *level /= (double)n;
    return n > 0;
}

/* The same of the recordings' own air, which is off by itself in each. */
static void own_air_effect(const struct cw_fit *const *fits, const struct cw_table_of_runs *table,
                           const double *weight, struct cw_compare *compare) {
    double level = 0, difference = 0, squares = 0;
    for (size_t i = 0; i < table->n; i++) {
        const struct cw_run_among *a = &table->run[i];
        double own = fits[a->outing]->workings->budget.own_air[a->index] / table->reference_m2[i];
        squares += own * own;
        for (size_t j = 0; j < table->n; j++) {
            const struct cw_run_among *b = &table->run[j];
            const struct cw_joint *joint = &fits[a->outing]->workings->joint;
            if (a->outing != b->outing ||
                joint->data[a->index].recording != joint->data[b->index].recording)
                continue;
            double product =
                own * fits[b->outing]->workings->budget.own_air[b->index] / table->reference_m2[j];
            level += product;
            if (weight) difference += weight[i] * weight[j] * product;
        }
    }
    if (!(squares > 0)) return;
    compare->causes[compare->n_causes++] = (struct cw_cause_effect){
        .kind = CW_CAUSE_OWN_AIR,
        .name = "each recording's own air (density)",
        .unit = "%",
        .uncertainty = 100 * sqrt(squares / (double)table->n),
        .cda_percent = 100 * sqrt(fmax(0, level)) / (double)table->n,
        .difference_percent = weight ? 100 * sqrt(fmax(0, difference)) : NAN,
    };
}

/* The causes of all outings, each by the outing that is the first to have it; weight: of the first
 * comparison, NULL if there is none. What one cause does to the difference has a sign within an
 * outing; what is wrong in several outings is taken to be so independently, but for how tyres
 * answer to the temperature, which is one for all. */
static enum cw_status budget(const struct cw_fit *const *fits, size_t n,
                             const struct cw_table_of_runs *table, const double *weight,
                             struct cw_compare *compare, struct cw_error *error) {
    size_t most = 0;
    double squares[2] = {0, 0}, noise = 0;
    for (size_t o = 0; o < n; o++) most += fits[o]->workings->budget.n;
    compare->causes = calloc(most + 1, sizeof *compare->causes);
    if (!compare->causes) return cw_error_memory(error);
    for (size_t o = 0; o < n; o++)
        for (size_t c = 0; c < fits[o]->workings->budget.n; c++) {
            const struct cw_cause *cause = &fits[o]->workings->budget.causes[c];
            double level, difference;
            size_t at = 0;
            if (!effect_of(fits[o], cause, table, o, weight, &level, &difference)) continue;
            while (at < compare->n_causes && compare->causes[at].kind != cause->kind) at++;
            struct cw_cause_effect *effect = &compare->causes[at];
            if (at < compare->n_causes) {
                effect->difference_percent = cause->kind == CW_CAUSE_WARM
                                                 ? effect->difference_percent + difference
                                                 : hypot(effect->difference_percent, difference);
                continue;
            }
            compare->n_causes++;
            *effect = (struct cw_cause_effect){
                .kind = cause->kind,
                .name = cause->name,
                .unit = cause->unit,
                .uncertainty = cause->uncertainty,
                .cda_percent = level,
                .crr = cause->effect[0],
                .difference_percent = difference,
            };
        }
    own_air_effect(fits, table, weight, compare);
    for (size_t c = 0; c < compare->n_causes; c++) {
        squares[0] += compare->causes[c].cda_percent * compare->causes[c].cda_percent;
        squares[1] += compare->causes[c].difference_percent * compare->causes[c].difference_percent;
    }
    for (size_t s = 0; s < compare->n_told; s++)
        noise +=
            100 * compare->setups[s].cda_m2.noise_standard_error / compare->setups[s].cda_m2.value;
    compare->systematic_percent = sqrt(squares[0]);
    compare->systematic_difference_percent = sqrt(squares[1]);
    compare->noise_percent = noise / (double)compare->n_told;
    return CW_OK;
}

static enum cw_status compare_ridden(const struct cw_fit *const *fits, size_t n,
                                     const struct cw_compare_options *options,
                                     struct cw_compare *compare, struct cw_error *error) {
    struct cw_table_of_runs table = {0};
    struct cw_run_model model = {0};
    double *scratch = NULL, *weight = NULL;
    enum cw_status status = name_setups(fits, n, options->reference, compare, error);
    if (status >= 0) status = part_setups(fits, n, compare, error);
    if (status < 0) goto cleanup;
    compare->wind_percent_per_ms = compare->systematic_percent = NAN;
    compare->systematic_difference_percent = compare->noise_percent = NAN;
    compare->scatter_percent = NAN;
    compare->scatter_low_percent = compare->scatter_high_percent = NAN;
    compare->wind_sd_ms = compare->wind_sd_low_ms = compare->wind_sd_high_ms = NAN;
    if (!compare->n_told) goto cleanup;
    status = cw_table_of_runs_make(fits, n, compare, &table, error);
    if (status >= 0)
        status = cw_run_model_fit(&table, fits, true, &model, &compare->warnings, error);
    if (status < 0) goto cleanup;
    for (size_t s = 0; s < compare->n_told; s++) {
        status = cw_run_model_level(&model, &table, s, &compare->setups[s].cda_m2, error);
        if (status >= 0)
            status = cw_run_model_crr(&model, &table, fits, s, &compare->setups[s].crr,
                                      &compare->setups[s].correlation, error);
        if (status < 0) goto cleanup;
    }
    size_t pairs = compare->n_told * (compare->n_told - 1) / 2;
    compare->comparisons = calloc(pairs ? pairs : 1, sizeof *compare->comparisons);
    scratch = malloc((2 * pairs + 1) * sizeof *scratch);
    if (!compare->comparisons || !scratch) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    for (size_t r = 0; r < compare->n_told; r++)
        for (size_t s = r + 1; s < compare->n_told; s++) {
            /* Riders are never compared with each other. */
            if (strcmp(compare->setups[r].rider, compare->setups[s].rider) != 0) continue;
            status = compare_pair(fits, n, &table, &model, s, r, options->level, compare,
                                  &compare->comparisons[compare->n_comparisons], error);
            if (status < 0) goto cleanup;
            compare->n_comparisons++;
        }
    judge(compare, options->level, scratch);
    compare->has_drift = model.n_drifts > 0;
    compare->drift_percent_per_hour = model.drift_percent_per_hour;
    if (model.components.n_components > 1) {
        compare->scatter_percent = 100 * model.components.of[CW_BETWEEN_OWN].median;
        compare->scatter_low_percent = 100 * model.components.of[CW_BETWEEN_OWN].low;
        compare->scatter_high_percent = 100 * model.components.of[CW_BETWEEN_OWN].high;
        compare->wind_sd_ms = model.components.of[CW_BETWEEN_WIND].median;
        compare->wind_sd_low_ms = model.components.of[CW_BETWEEN_WIND].low;
        compare->wind_sd_high_ms = model.components.of[CW_BETWEEN_WIND].high;
    }
    compare->n_runs = table.n;
    cw_run_model_among(&model, fits, table.run);
    weight = malloc(table.n * sizeof *weight);
    if (!weight) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    if (compare->n_comparisons)
        cw_run_model_weights(&model, compare->comparisons[0].setup,
                             compare->comparisons[0].reference, weight);
    compare->wind_percent_per_ms = 100 * expm1(cw_log_cda_by_wind(fits[table.run[0].outing]));
    status = budget(fits, n, &table, compare->n_comparisons ? weight : NULL, compare, error);
    if (status >= 0)
        status = cw_winds_tell(&table, fits, &model, compare->n_comparisons ? weight : NULL,
                               compare, error);
    if (status < 0) goto cleanup;
    compare->runs = table.run;
    table.run = NULL;
cleanup:
    free(scratch);
    free(weight);
    cw_table_of_runs_free(&table);
    cw_run_model_free(&model);
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
    const struct cw_fit **in_order = calloc(n ? n : 1, sizeof *in_order);
    struct cw_compare_options usual = cw_compare_options_default();
    enum cw_status status = ridden && in_order ? CW_OK : cw_error_memory(error);
    *compare = (struct cw_compare){0};
    if (status < 0) goto cleanup;
    if (!options) options = &usual;
    for (size_t o = 0; o < n; o++) ridden[o] = (struct ridden){fits[o], o};
    qsort(ridden, n, sizeof *ridden, by_start);
    for (size_t o = 0; o < n; o++) in_order[o] = ridden[o].fit;
    status = compare_ridden(in_order, n, options, compare, error);
    if (status < 0) goto cleanup;
    for (size_t i = 0; i < compare->n_runs; i++)
        compare->runs[i].outing = ridden[compare->runs[i].outing].given;
    if (compare->n_runs) qsort(compare->runs, compare->n_runs, sizeof *compare->runs, as_given);
    status = doubt_labels(compare, error);
    if (status < 0) cw_compare_free(compare);
cleanup:
    free(ridden);
    free(in_order);
    return status;
}

void cw_compare_free(struct cw_compare *compare) {
    free(compare->setups);
    free(compare->comparisons);
    free(compare->runs);
    free(compare->causes);
    *compare = (struct cw_compare){0};
}

size_t cw_compare_setup_named(const struct cw_compare *compare, const char *name) {
    size_t s = 0;
    while (s < compare->n_setups && strcmp(compare->setups[s].name, name)) s++;
    return s;
}
