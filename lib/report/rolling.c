#include "report/rolling.h"

#include <math.h>

#include "report/estimates.h"
#include "report/interval.h"

enum { SUM = 1 }; /* of the forces: at CW_SUM_KMH */

#define TEXT(number) TEXT_OF(number)
#define TEXT_OF(number) #number

const struct cw_force *cw_forces_read(const struct cw_comparison *comparison, enum cw_units units) {
    return units == CW_UNITS_IMPERIAL ? comparison->force_mph : comparison->force;
}

const char *cw_sum_text(enum cw_units units) {
    return units == CW_UNITS_IMPERIAL ? TEXT(CW_SUM_MPH) " mph" : TEXT(CW_SUM_KMH) " km/h";
}

const char *cw_fast_text(enum cw_units units) {
    return units == CW_UNITS_IMPERIAL ? "25 mph" : "40 km/h";
}

struct cw_estimate cw_fast_watts(const struct cw_comparison *comparison, enum cw_units units) {
    return units == CW_UNITS_IMPERIAL ? comparison->force_mph[CW_FORCES - 1].power_w
                                      : comparison->watts_at_40kmh;
}

bool cw_rolling_any(const struct cw_compare *compare) {
    for (size_t i = 0; i < compare->n_comparisons; i++)
        if (compare->comparisons[i].rolling.compared) return true;
    return false;
}

/* "2.8 to 7.0 W more"; "0.6 W less to 5.0 W more". */
static void add_between(struct cw_estimate estimate, const char *unit, const char *below,
                        const char *above, struct cw_text *text) {
    int decimals = cw_answer_decimals(estimate);
    cw_answer_range_add(estimate, decimals, unit, below, above, text);
    if (estimate.high < 0) cw_text_add(text, " %s", below);
    if (estimate.low > 0) cw_text_add(text, " %s", above);
}

static void add_drag(const struct cw_comparison *c, struct cw_text *text) {
    add_between(c->percent, "%", "less", "more", text);
    cw_text_add(text, " drag");
}

static void add_crr(const struct cw_comparison *c, struct cw_text *text) {
    cw_text_add(text, "Crr ");
    add_between(c->rolling.crr, "", "lower", "higher", text);
}

/* "4.9 W more at 30 km/h (2.8 to 7.0 W)" */
static void add_sum(const struct cw_comparison *c, const char *than, const char *reference,
                    cw_name_adder name, enum cw_units units, struct cw_text *text) {
    struct cw_estimate power = cw_forces_read(c, units)[SUM].power_w;
    int decimals = cw_answer_decimals(power);
    cw_text_add(text, "%.*f W %s", decimals, fabs(power.value), power.value < 0 ? "less" : "more");
    if (than) {
        cw_text_add(text, "%s", than);
        name(text, reference);
    }
    cw_text_add(text, " at %s (", cw_sum_text(units));
    cw_answer_range_add(power, decimals, "W", "less", "more", text);
    cw_text_add(text, ")");
}

static bool has_sum(const struct cw_comparison *c) {
    return isfinite(c->force[SUM].power_w.standard_error);
}

static void add_together(const struct cw_comparison *c, enum cw_units units, struct cw_text *text) {
    if (!has_sum(c)) return;
    cw_text_add(text, "; drag and rolling together cost ");
    add_sum(c, NULL, NULL, NULL, units, text);
}

/* "3.1 % less drag than hard (1.2 to 5.0 %), p 0.004" */
static void add_drag_told(const struct cw_comparison *c, const char *reference, cw_name_adder name,
                          struct cw_text *text) {
    int decimals = cw_answer_decimals(c->percent);
    cw_text_add(text, "%.*f %% %s drag than ", decimals, fabs(c->percent.value),
                c->percent.value < 0 ? "less" : "more");
    name(text, reference);
    cw_text_add(text, " (");
    cw_answer_range_add(c->percent, decimals, "%", "less", "more", text);
    cw_text_add(text, ")");
    cw_answer_p_add(c->p_adjusted, text);
}

/* "rolls worse than hard, by 0.0005 of Crr (0.0002 to 0.0008), some 10 %, p 0.003" */
static void add_rolling_told(const struct cw_comparison *c, const char *reference,
                             cw_name_adder name, struct cw_text *text) {
    const struct cw_rolling_difference *d = &c->rolling;
    int decimals = cw_answer_decimals(d->crr);
    cw_text_add(text, "rolls %s than ", d->crr.value < 0 ? "better" : "worse");
    name(text, reference);
    cw_text_add(text, ", by %.*f of Crr (", decimals, fabs(d->crr.value));
    cw_answer_range_add(d->crr, decimals, "", "better", "worse", text);
    cw_text_add(text, ")");
    if (isfinite(d->percent.value)) cw_text_add(text, ", some %.0f %%", fabs(d->percent.value));
    cw_answer_p_add(d->p_adjusted, text);
}

static void add_no_drag(const struct cw_comparison *c, struct cw_text *text) {
    if (c->drag_said) {
        cw_text_add(text, "; their drag is said to be the same");
        return;
    }
    cw_text_add(text, "; these runs can't tell their drag apart (");
    add_drag(c, text);
    cw_text_add(text, ")");
}

static void add_undecided(const struct cw_comparison *c, const char *reference, cw_name_adder name,
                          enum cw_units units, struct cw_text *text) {
    cw_text_add(text, ": these runs can't tell whether it costs more or less than ");
    name(text, reference);
    cw_text_add(text, " (");
    if (has_sum(c)) {
        add_between(cw_forces_read(c, units)[SUM].power_w, "W", "less", "more", text);
        cw_text_add(text, " at %s; ", cw_sum_text(units));
    }
    add_crr(c, text);
    if (!c->drag_said) {
        cw_text_add(text, ", ");
        add_drag(c, text);
    }
    cw_text_add(text, "); they would have shown a difference of %.*f in Crr",
                cw_answer_decimals(c->rolling.crr), c->rolling.smallest_detectable);
    if (!c->drag_said)
        cw_text_add(text, ", or of %.*f %% in drag", cw_answer_decimals(c->percent),
                    c->smallest_detectable_percent);
}

void cw_rolling_answer_add(const struct cw_compare *compare, size_t i, cw_name_adder name,
                           enum cw_units units, struct cw_text *text) {
    const struct cw_comparison *c = &compare->comparisons[i];
    const char *reference = compare->setups[c->reference].name;
    name(text, compare->setups[c->setup].name);
    switch (c->rolling.told) {
    case CW_TOLD_BOTH:
        cw_text_add(text, ": ");
        add_drag_told(c, reference, name, text);
        cw_text_add(text, "; it ");
        add_rolling_told(c, reference, name, text);
        add_together(c, units, text);
        break;
    case CW_TOLD_DRAG:
        cw_text_add(text, ": ");
        add_drag_told(c, reference, name, text);
        cw_text_add(text, "; these runs can't tell which rolls better (");
        add_crr(c, text);
        cw_text_add(text, ")");
        add_together(c, units, text);
        break;
    case CW_TOLD_ROLLING:
        cw_text_add(text, " ");
        add_rolling_told(c, reference, name, text);
        add_no_drag(c, text);
        add_together(c, units, text);
        break;
    case CW_TOLD_SUM:
        cw_text_add(text, " costs ");
        add_sum(c, " than ", reference, name, units, text);
        cw_text_add(text, "; these runs can't tell how much of it is rolling (");
        add_crr(c, text);
        if (!c->drag_said) {
            cw_text_add(text, ", ");
            add_drag(c, text);
        }
        cw_text_add(text, ")");
        break;
    case CW_TOLD_NONE:
        add_undecided(c, reference, name, units, text);
        break;
    }
}

const char *cw_rolling_words(enum cw_verdict verdict) {
    switch (verdict) {
    case CW_VERDICT_LOWER:
        return "rolls better";
    case CW_VERDICT_HIGHER:
        return "rolls worse";
    case CW_VERDICT_UNDECIDED:
        break;
    }
    return "not decided";
}

void cw_rolling_rows_add(const struct cw_compare *compare, struct cw_table *table) {
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        const struct cw_comparison *c = &compare->comparisons[i];
        const struct cw_rolling_difference *d = &c->rolling;
        int decimals = cw_error_decimals(d->crr.standard_error);
        if (!d->compared) continue;
        cw_table_add(table, "%s", compare->setups[c->setup].name);
        cw_table_add(table, "%s", compare->setups[c->reference].name);
        cw_table_add_number(table, d->crr.value, decimals);
        cw_table_add_number(table, d->crr.low, decimals);
        cw_table_add_number(table, d->crr.high, decimals);
        cw_table_add_number(table, d->percent.value, 0);
        cw_table_add_p(table, d->p_value);
        cw_table_add_p(table, d->p_adjusted);
        cw_table_add_number(table, d->smallest_detectable, decimals);
        cw_table_add(table, "%s", cw_rolling_words(d->verdict));
    }
}

void cw_force_rows_add(const struct cw_compare *compare, struct cw_table *table) {
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        const struct cw_comparison *c = &compare->comparisons[i];
        const struct cw_force *force = cw_forces_read(c, table->units);
        for (size_t k = 0; k < CW_FORCES && c->rolling.compared; k++) {
            const struct cw_estimate *of[2] = {&force[k].force_n, &force[k].power_w};
            if (!isfinite(of[0]->value)) continue;
            cw_table_add(table, "%s", compare->setups[c->setup].name);
            cw_table_add(table, "%s", compare->setups[c->reference].name);
            cw_table_add_number(table, force[k].speed_kmh, 0);
            for (int e = 0; e < 2; e++) {
                int decimals = cw_error_decimals(of[e]->standard_error);
                cw_table_add_number(table, of[e]->value, decimals);
                cw_table_add_number(table, of[e]->low, decimals);
                cw_table_add_number(table, of[e]->high, decimals);
            }
        }
    }
}

/* It is worth saying where it makes the error so much smaller. */
static const double worth_saying = 0.95;

void cw_rolling_limits(const struct cw_compare *compare, struct cw_sentences *sentences) {
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        const struct cw_comparison *c = &compare->comparisons[i];
        const struct cw_rolling_difference *d = &c->rolling;
        double same = d->standard_error_if_same_drag;
        if (!(same < worth_saying * d->crr.standard_error)) continue;
        int decimals = cw_error_decimals(same);
        cw_sentences_add(
            sentences,
            "drag from rolling, as either may differ between %s and %s: if rider, position and "
            "clothes were the same, a line \"drag = NAME\" with one name in both setups says so, "
            "and the standard error of their difference in Crr is then %.*f for %.*f",
            compare->setups[c->setup].name, compare->setups[c->reference].name, decimals, same,
            decimals, d->crr.standard_error);
    }
}
