#include "compare/budget.h"

#include <math.h>
#include <stdlib.h>

#include "fit/workings.h"

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
            const struct cw_fit_way *way = fits[a->outing]->workings->ways.at;
            if (a->outing != b->outing || way[a->index].recording != way[b->index].recording)
                continue;
            double product =
                own * fits[b->outing]->workings->budget.own_air[b->index] / table->reference_m2[j];
            level += product;
            if (weight) difference += weight[i] * weight[j] * product;
        }
    }
    if (!(squares > 0)) return;
    struct cw_cause_effect *effect = &compare->causes[compare->n_causes++];
    *effect = (struct cw_cause_effect){
        .kind = CW_CAUSE_OWN_AIR,
        .uncertainty = 100 * sqrt(squares / (double)table->n),
        .cda_percent = 100 * sqrt(fmax(0, level)) / (double)table->n,
        .difference_percent = weight ? 100 * sqrt(fmax(0, difference)) : NAN,
    };
    cw_cause_name(effect->kind, &effect->name, &effect->unit);
}

enum cw_status cw_compare_budget(const struct cw_fit *const *fits, size_t n,
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
