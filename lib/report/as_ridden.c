#include "report/as_ridden.h"

#include <math.h>

/* A cause that makes less of the whole than this is not worth a word in one sentence. */
static const double least_share = 0.1;
/* Drag known no better than this is not "the same within". */
static const double same_percent = 10;
/* Less is no other load: the mean of as many masses ends in other last bits. */
static const double least_kg = 0.05;

static bool tells(struct cw_estimate estimate) {
    return estimate.low > 0 || estimate.high < 0;
}

enum cw_verdict cw_as_ridden_verdict(const struct cw_comparison *comparison) {
    struct cw_estimate time_s = comparison->time_split.measured;
    if (!tells(time_s)) return CW_VERDICT_UNDECIDED;
    return time_s.value < 0 ? CW_VERDICT_LOWER : CW_VERDICT_HIGHER;
}

/* How seconds or metres are worded. */
struct wording {
    const char *unit, *below, *above;
    const struct cw_split *split;
    int decimals;
};

static struct wording wording_of(const struct cw_split *split, bool time) {
    struct wording w = {"s", "quicker", "slower", split, 2};
    if (!time) w = (struct wording){"m", "less far", "further", split, 1};
    if (isfinite(split->measured.standard_error)) w.decimals = cw_answer_decimals(split->measured);
    return w;
}

/* "0.95 s quicker" */
static void add_amount(const struct wording *w, double value, struct cw_text *text) {
    cw_text_add(text, "%.*f %s %s", w->decimals, fabs(value), w->unit,
                value < 0 ? w->below : w->above);
}

static void add_range(const struct wording *w, struct cw_estimate estimate, struct cw_text *text) {
    cw_text_add(text, " (");
    cw_answer_range_add(estimate, w->decimals, w->unit, w->below, w->above, text);
    cw_text_add(text, ")");
}

static void add_kg(const struct cw_comparison *comparison, struct cw_text *text) {
    double kg = fabs(comparison->heavier_kg);
    cw_text_add(text, fabs(kg - rint(kg)) < 0.05 ? "%.0f kg %s" : "%.1f kg %s", kg,
                comparison->heavier_kg < 0 ? "less" : "more");
}

/* Whether the rest of the whole, without the mass's part, is no more than its interval allows, and
 * no other cause has a finding of its own. */
static bool all_of_mass(const struct cw_split *split) {
    double mass = split->part[CW_PART_MASS].value, whole = split->measured.value;
    if (!(mass * whole > 0) || fabs(mass) < 0.5 * fabs(whole)) return false;
    if (!(split->measured.low <= mass && mass <= split->measured.high)) return false;
    for (int c = 0; c < CW_PARTS; c++)
        if (c != CW_PART_MASS && tells(split->part[c]) &&
            fabs(split->part[c].value) >= least_share * fabs(whole))
            return false;
    return true;
}

static void add_mass(const struct wording *w, const struct cw_comparison *comparison,
                     struct cw_text *text) {
    const struct cw_estimate *mass = &w->split->part[CW_PART_MASS];
    if (all_of_mass(w->split)) {
        cw_text_add(text, ", all of it from ");
        add_kg(comparison, text);
        return;
    }
    cw_text_add(text, "; ");
    add_kg(comparison, text);
    cw_text_add(text, " by itself makes it ");
    add_amount(w, mass->value, text);
    add_range(w, *mass, text);
}

/* The other causes that are found, and large enough to be worth a word. */
static void add_others(const struct wording *w, struct cw_text *text) {
    static const char *const of[CW_PARTS] = {[CW_PART_DRAG] = "drag makes it",
                                             [CW_PART_ROLLING] = "rolling makes it",
                                             [CW_PART_DENSITY] = "the air's density makes it",
                                             [CW_PART_START] = "the speed at the start makes it",
                                             [CW_PART_WIND] = "wind makes it",
                                             [CW_PART_LEFT] = "unexplained is"};
    for (int c = 0; c < CW_PARTS; c++) {
        struct cw_estimate part = w->split->part[c];
        if (!of[c] || !tells(part) ||
            fabs(part.value) < least_share * fabs(w->split->measured.value))
            continue;
        cw_text_add(text, "; %s ", of[c]);
        add_amount(w, part.value, text);
        add_range(w, part, text);
    }
}

static void add_drag(const struct cw_comparison *comparison, enum cw_units units,
                     struct cw_text *text) {
    struct cw_estimate percent = comparison->percent;
    double within = fmax(fabs(percent.low), fabs(percent.high));
    int decimals = cw_answer_decimals(percent);
    if (comparison->drag_said) {
        cw_text_add(text, "; drag is said to be the same");
    } else if (comparison->verdict != CW_VERDICT_UNDECIDED) {
        cw_text_add(text, "; %.*f %% %s drag (", decimals, fabs(percent.value),
                    percent.value < 0 ? "less" : "more");
        cw_answer_range_add(percent, decimals, "%", "less", "more", text);
        cw_text_add(text, ")");
        cw_answer_p_add(comparison->p_adjusted, text);
        cw_answer_watts_add(comparison, units, text);
    } else if (within <= same_percent) {
        cw_text_add(text, "; drag the same within %.*f %%", decimals, within);
    } else {
        cw_text_add(text, "; whether drag differs these runs can't tell");
        if (!isfinite(within) || within > 75) return;
        cw_text_add(text, " (");
        cw_answer_range_add(percent, decimals, "%", "less", "more", text);
        cw_text_add(text, ")");
    }
}

static void add_runout(const struct cw_comparison *comparison, struct cw_text *text) {
    struct wording w = wording_of(&comparison->runout_split, false);
    struct cw_estimate measured = w.split->measured;
    if (!w.split->told) return;
    cw_text_add(text, "; it rolled ");
    add_amount(&w, measured.value, text);
    if (isfinite(measured.standard_error)) add_range(&w, measured, text);
    if (fabs(comparison->heavier_kg) >= least_kg) add_mass(&w, comparison, text);
    add_others(&w, text);
}

void cw_as_ridden_add(const struct cw_compare *compare, const struct cw_comparison *comparison,
                      cw_name_adder name, enum cw_units units, struct cw_text *text) {
    struct wording w = wording_of(&comparison->time_split, true);
    struct cw_estimate measured = w.split->measured;
    name(text, compare->setups[comparison->setup].name);
    cw_text_add(text, ": ");
    add_amount(&w, measured.value, text);
    cw_text_add(text, " over this road, as measured, than ");
    name(text, compare->setups[comparison->reference].name);
    if (isfinite(measured.standard_error))
        add_range(&w, measured, text);
    else
        cw_text_add(text, " (one run each: nothing says how sure)");
    if (fabs(comparison->heavier_kg) >= least_kg) add_mass(&w, comparison, text);
    add_others(&w, text);
    add_drag(comparison, units, text);
    add_runout(comparison, text);
}
