/* Explaining: measured differences divided among their causes. */
#include <math.h>

#include "analysis/analysis.h"

static double start_of(const struct cw_analysed *of) {
    return of->timed.n ? of->runs.at[of->timed.runs[0].run].start_s : INFINITY;
}

/* Hands a pair's explanation to its comparison, if no outing ridden before has it. */
static void hand_over(struct cw_analysis *analysis, const struct cw_explanation *explanation) {
    struct cw_compare *compare = &analysis->compare;
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        struct cw_comparison *c = &compare->comparisons[i];
        if (c->setup != explanation->setup || c->reference != explanation->reference) continue;
        for (size_t o = 0; o < analysis->n; o++) {
            const struct cw_analysed *other = &analysis->outings[o];
            for (size_t k = 0; k < other->explained.n; k++)
                if (other->explained.at[k].setup == c->setup &&
                    other->explained.at[k].reference == c->reference &&
                    start_of(other) < start_of(&analysis->outings[explanation->outing]))
                    return;
        }
        const struct cw_split *time = &explanation->of[CW_EXPLAINED_TIME];
        c->time_split = *time;
        c->runout_split = explanation->of[CW_EXPLAINED_RUNOUT];
        c->reference_kg = explanation->state[1][CW_PART_MASS];
        c->heavier_kg = time->told ? explanation->state[0][CW_PART_MASS] - c->reference_kg : 0;
        /* What answers then is the measured time, between the same gates and each run as fast as it
         * came there: where nothing is left unexplained the model has nothing against the clock. */
        const struct cw_estimate *left = &time->part[CW_PART_LEFT];
        if (cw_comparison_asks_load(c) && left->low <= 0 && left->high >= 0)
            c->time_by_clock_s = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    }
}

enum cw_status cw_analysis_explain(struct cw_analysis *analysis, struct cw_error *error) {
    enum cw_status status = CW_OK;
    for (size_t o = 0; o < analysis->n && analysis->compared && status >= 0; o++) {
        struct cw_analysed *of = &analysis->outings[o];
        cw_explained_free(&of->explained);
        status = cw_explain(&of->fit, &of->timed, &of->more_times, &analysis->compare, o,
                            &of->explained, error);
    }
    for (size_t o = 0; o < analysis->n && status >= 0; o++)
        for (size_t k = 0; k < analysis->outings[o].explained.n; k++)
            hand_over(analysis, &analysis->outings[o].explained.at[k]);
    return status;
}
