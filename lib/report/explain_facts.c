#include "report/explain_facts.h"

#include <math.h>

#include "report/answer.h"
#include "report/as_ridden.h"
#include "report/estimates.h"

const char *cw_part_key(enum cw_part part) {
    static const char *const keys[CW_PARTS] = {"mass",        "drag", "rolling",    "air_density",
                                               "start_speed", "wind", "unexplained"};
    return keys[part];
}

const char *cw_explained_key(enum cw_explained_quantity quantity) {
    static const char *const keys[CW_EXPLAINED] = {"time_s", "down_s", "far_s", "runout_m"};
    return keys[quantity];
}

bool cw_explain_has_halves(const struct cw_explanation *explanation) {
    return explanation->of[CW_EXPLAINED_DOWN].told && explanation->of[CW_EXPLAINED_FAR].told;
}

/* ---- rows ---- */

static const char *setup_name(const struct cw_analysis *analysis, size_t setup) {
    return analysis->compare.setups[setup].name;
}

/* How what was what is shown. */
static const struct {
    const char *unit;
    int decimals;
    double factor;
} states[CW_MODEL_PARTS] = {
    {"kg", 1, 1},
    {"m2", 4, 1},
    {"", 5, 1},
    {"kg/m3", 4, 1},
    {"km/h", 2, CW_KMH_PER_MS},
    {"km/h", 1, CW_KMH_PER_MS},
};

static void add_part(enum cw_part part, struct cw_table *table) {
    cw_table_add_row_head(table, cw_part_text(part),
                          part < CW_MODEL_PARTS ? states[part].unit : "");
}

static void add_state(const struct cw_explanation *explanation, enum cw_part part, int side,
                      struct cw_table *table) {
    if (part == CW_PART_LEFT || (part == CW_PART_WIND && !explanation->wind_known))
        cw_table_add(table, "%s", part == CW_PART_LEFT ? "" : "not seen");
    else
        cw_table_add_in(table, states[part].factor * explanation->state[side][part],
                        states[part].unit, states[part].decimals);
}

static int decimals_of(const struct cw_split *split, bool metres) {
    int decimals = metres ? 1 : 2;
    if (split->measured.standard_error > 0)
        decimals = cw_error_decimals(split->measured.standard_error);
    return decimals > 2 ? 2 : decimals; /* beyond, nobody times or tapes */
}

static void add_numbers(struct cw_estimate estimate, int decimals, struct cw_table *table) {
    cw_table_add_number(table, estimate.value, decimals);
    cw_table_add_number(table, estimate.low, decimals);
    cw_table_add_number(table, estimate.high, decimals);
}

void cw_explain_rows_add(const struct cw_explanation *explanation, bool halves,
                         struct cw_explain_columns *columns, struct cw_table *table) {
    const enum cw_explained_quantity shown[2] = {halves ? CW_EXPLAINED_DOWN : CW_EXPLAINED_TIME,
                                                 halves ? CW_EXPLAINED_FAR : CW_EXPLAINED_RUNOUT};
    static const char *const heads[CW_EXPLAINED] = {"time", "down", "far side", "run-out"};
    size_t n = 0;
    columns->at[n++] = (struct cw_column){"cause", "", false};
    if (!halves) {
        columns->at[n++] = (struct cw_column){"reference", "", true};
        columns->at[n++] = (struct cw_column){"setup", "", true};
    }
    for (int k = 0; k < 2; k++) {
        const char *unit = shown[k] == CW_EXPLAINED_RUNOUT ? "m" : "s";
        if (!explanation->of[shown[k]].told) continue;
        columns->at[n++] = (struct cw_column){heads[shown[k]], unit, true};
        columns->at[n++] = (struct cw_column){"95 % from", unit, true};
        columns->at[n++] = (struct cw_column){"to", unit, true};
    }
    *table = (struct cw_table){.columns = columns->at, .n_columns = n, .units = table->units};
    for (int row = 0; row <= CW_PARTS; row++) {
        enum cw_part part = (enum cw_part)row;
        if (row < CW_PARTS)
            add_part(part, table);
        else
            cw_table_add(table, "together, as measured");
        for (int side = 1; side >= 0 && !halves; side--) {
            if (row < CW_PARTS)
                add_state(explanation, part, side, table);
            else
                cw_table_add(table, "%zu %s", explanation->runs[side],
                             explanation->runs[side] == 1 ? "run" : "runs");
        }
        for (int k = 0; k < 2; k++) {
            const struct cw_split *split = &explanation->of[shown[k]];
            if (!split->told) continue;
            add_numbers(row < CW_PARTS ? split->part[part] : split->measured,
                        decimals_of(split, shown[k] == CW_EXPLAINED_RUNOUT), table);
        }
    }
}

/* ---- sentences ---- */

void cw_explain_head_add(const struct cw_analysis *analysis,
                         const struct cw_explanation *explanation, struct cw_text *text) {
    cw_text_add(text, "%s against %s, timed from %.0f to %.0f m along the road",
                setup_name(analysis, explanation->setup),
                setup_name(analysis, explanation->reference), explanation->from_m,
                explanation->to_m);
    if (isfinite(explanation->dip_m))
        cw_text_add(text, ", its lowest place at %.0f m", explanation->dip_m);
}

static void add_name(struct cw_text *text, const char *name) {
    cw_text_add(text, "%s", name);
}

/* The whole and its causes, of this outing's explanation. */
static void say_whole(const struct cw_analysis *analysis, const struct cw_explanation *explanation,
                      enum cw_units units, struct cw_sentences *sentences) {
    const struct cw_compare *compare = &analysis->compare;
    struct cw_text text = {0};
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        struct cw_comparison here = compare->comparisons[i];
        if (here.setup != explanation->setup || here.reference != explanation->reference) continue;
        here.time_split = explanation->of[CW_EXPLAINED_TIME];
        here.runout_split = explanation->of[CW_EXPLAINED_RUNOUT];
        here.reference_kg = explanation->state[1][CW_PART_MASS];
        here.heavier_kg = explanation->state[0][CW_PART_MASS] - here.reference_kg;
        cw_as_ridden_add(compare, &here, add_name, units, &text);
    }
    cw_sentences_take(sentences, &text);
}

static void say_left(const struct cw_split *split, bool metres, struct cw_sentences *sentences) {
    const struct cw_estimate *left = &split->part[CW_PART_LEFT];
    struct cw_text text = {0};
    if (!split->told) return;
    int decimals = decimals_of(split, metres);
    const char *unit = metres ? "m" : "s";
    bool found = left->low > 0 || left->high < 0;
    cw_text_add(&text, "of the %s %+.*f %s (%+.*f to %+.*f %s) %s unexplained, ",
                metres ? "run-out" : "time", decimals, left->value, unit, decimals, left->low,
                decimals, left->high, unit, found ? "are" : "are left");
    cw_text_add(&text, found ? "more than the runs scatter: something differed that is neither "
                               "mass, drag, rolling, air nor start, such as a brushed brake, "
                               "another line through a bend, or wind that came in gusts"
                             : "which is within what the runs scatter");
    cw_sentences_take(sentences, &text);
}

static void say_halves(const struct cw_explanation *explanation, struct cw_sentences *sentences) {
    const struct cw_split *down = &explanation->of[CW_EXPLAINED_DOWN],
                          *far = &explanation->of[CW_EXPLAINED_FAR];
    if (!cw_explain_has_halves(explanation)) return;
    int decimals = decimals_of(&explanation->of[CW_EXPLAINED_TIME], false);
    cw_sentences_add(sentences,
                     "down to the lowest place, at %.0f m, mass made %+.*f s and drag %+.*f s; on "
                     "the far side mass made %+.*f s and drag %+.*f s",
                     explanation->dip_m, decimals, down->part[CW_PART_MASS].value, decimals,
                     down->part[CW_PART_DRAG].value, decimals, far->part[CW_PART_MASS].value,
                     decimals, far->part[CW_PART_DRAG].value);
}

static void say_contrary(const struct cw_analysis *analysis,
                         const struct cw_explanation *explanation, struct cw_sentences *sentences) {
    const struct cw_contrary *c = &explanation->contrary;
    const struct cw_split *runout = &explanation->of[CW_EXPLAINED_RUNOUT];
    struct cw_text text = {0};
    if (!c->is) return;
    double kg = explanation->state[0][CW_PART_MASS] - explanation->state[1][CW_PART_MASS];
    cw_text_add(&text,
                "%s rolled %.1f m %s, though %.1f kg %s, its start and its air alone would have "
                "made it %.1f m %s: ",
                setup_name(analysis, explanation->setup), fabs(runout->measured.value),
                runout->measured.value < 0 ? "less far" : "further", fabs(kg),
                kg < 0 ? "less" : "more", fabs(c->expected_m),
                c->expected_m < 0 ? "less far" : "further");
    if (isnan(c->beyond_m.standard_error))
        cw_text_add(&text, "with one run each nothing tells whether that is scatter");
    else if (c->scatter)
        cw_text_add(&text,
                    "that is scatter, as far as these runs tell, which leave that distance of "
                    "%.1f m open from %.1f to %.1f m",
                    c->beyond_m.value, c->beyond_m.low, c->beyond_m.high);
    else
        cw_text_add(&text,
                    "that is beyond the runs' scatter (a distance of %.1f m, 95 %%: %.1f to %.1f "
                    "m)",
                    c->beyond_m.value, c->beyond_m.low, c->beyond_m.high);
    cw_text_add(&text,
                "; were it real it would take %.1f %% %s CdA, which makes %+.2f s over this road, "
                "or a Crr that is %.5f %s, which makes %+.2f s",
                fabs(c->cda_percent), c->cda_percent < 0 ? "less" : "more", c->cda_time_s,
                fabs(c->crr), c->crr < 0 ? "lower" : "higher", c->crr_time_s);
    cw_sentences_take(sentences, &text);
}

void cw_explain_said(const struct cw_analysis *analysis, const struct cw_explanation *explanation,
                     enum cw_units units, struct cw_sentences *sentences) {
    if (!explanation->of[CW_EXPLAINED_TIME].told) {
        cw_sentences_add(sentences,
                         "%s against %s: the times of their runs cannot be divided: no run of one "
                         "crosses both gates, or by the model it does not get so far",
                         setup_name(analysis, explanation->setup),
                         setup_name(analysis, explanation->reference));
        return;
    }
    say_whole(analysis, explanation, units, sentences);
    say_left(&explanation->of[CW_EXPLAINED_TIME], false, sentences);
    say_left(&explanation->of[CW_EXPLAINED_RUNOUT], true, sentences);
    say_halves(explanation, sentences);
    say_contrary(analysis, explanation, sentences);
    if (!explanation->wind_known)
        cw_sentences_add(sentences,
                         "nobody saw the winds of the runs: what they did is in the intervals of "
                         "drag and of what is left");
}

void cw_explain_method_said(struct cw_sentences *sentences) {
    cw_sentences_add(sentences,
                     "a part is what its cause does while all causes go together, in small steps, "
                     "from what the reference's runs were to what the setup's were, so that none "
                     "hangs on an order");
    cw_sentences_add(sentences, "together they are the difference of the measured means, exactly");
}
