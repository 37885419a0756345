#include "report/answer.h"

#include <math.h>
#include <stdbool.h>

#include "report/as_ridden.h"
#include "report/estimates.h"
#include "report/rolling.h"

int cw_answer_decimals(struct cw_estimate estimate) {
    int decimals = cw_error_decimals(estimate.standard_error);
    return decimals > 2 ? decimals - 1 : 1;
}

void cw_answer_range_add(struct cw_estimate estimate, int decimals, const char *unit,
                         const char *below, const char *above, struct cw_text *text) {
    double low = fabs(estimate.low), high = fabs(estimate.high);
    const char *blank = *unit ? " " : "";
    if ((estimate.low < 0) == (estimate.high < 0))
        cw_text_add(text, "%.*f to %.*f%s%s", decimals, fmin(low, high), decimals, fmax(low, high),
                    blank, unit);
    else
        cw_text_add(text, "%.*f%s%s %s to %.*f%s%s %s", decimals, low, blank, unit, below, decimals,
                    high, blank, unit, above);
}

/* By the model, unless the clock excludes that. */
static void add_time(const struct cw_comparison *comparison, struct cw_text *text) {
    bool by_clock = comparison->time_by_clock_s.standard_error > 0;
    struct cw_estimate time_s =
        by_clock ? comparison->time_by_clock_s : comparison->time_over_road_s;
    if (!isfinite(time_s.value)) return;
    int decimals = cw_answer_decimals(time_s);
    cw_text_add(text, "; %s %.*f s %s (",
                by_clock ? "by the clock, between the gates," : "over this road, by the model,",
                decimals, fabs(time_s.value), time_s.value < 0 ? "faster" : "slower");
    cw_answer_range_add(time_s, decimals, "s", "faster", "slower", text);
    cw_text_add(text, ")");
}

void cw_answer_watts_add(const struct cw_comparison *comparison, enum cw_units units,
                         struct cw_text *text) {
    struct cw_estimate watts = cw_fast_watts(comparison, units);
    if (!isfinite(watts.value) || !(watts.standard_error > 0)) return;
    int decimals = watts.standard_error >= 1 ? 0 : 1;
    cw_text_add(text, "; at %s %.*f W %s (", cw_fast_text(units), decimals, fabs(watts.value),
                watts.value < 0 ? "less" : "more");
    cw_answer_range_add(watts, decimals, "W", "less", "more", text);
    cw_text_add(text, ")");
}

/* As measured, where somebody did: beside the model's answer, decided or not. */
static void add_runout(const struct cw_comparison *comparison, struct cw_text *text) {
    struct cw_estimate runout_m = comparison->runout_taped_m;
    if (!(runout_m.standard_error > 0)) return;
    int decimals = cw_answer_decimals(runout_m);
    cw_text_add(text, "; by tape it rolled %.*f m %s (", decimals, fabs(runout_m.value),
                runout_m.value < 0 ? "less far" : "further");
    cw_answer_range_add(runout_m, decimals, "m", "less far", "further", text);
    cw_text_add(text, ")");
}

void cw_answer_p_add(double p, struct cw_text *text) {
    if (p < 0.001)
        cw_text_add(text, ", p below 0.001");
    else if (isfinite(p))
        cw_text_add(text, p < 0.1 ? ", p %.3f" : ", p %.2f", p);
}

/* Beside the verdict, which it bears on. */
static void add_order(const struct cw_comparison *comparison, const char *setup,
                      const char *reference, cw_name_adder name, struct cw_text *text) {
    double hours = comparison->hours_later;
    if (!(fabs(hours) >= 0.05)) return;
    cw_text_add(text, "; but ");
    name(text, hours > 0 ? setup : reference);
    cw_text_add(text, " was ridden after ");
    name(text, hours > 0 ? reference : setup);
    cw_text_add(text,
                ", %.1f h later, and what drifts by 1 %% an hour (wind, warmth) looks like a "
                "difference of %.1f %%: take turns, there and back",
                fabs(hours), fabs(hours));
}

static void add_decided(const struct cw_comparison *comparison, const char *setup,
                        const char *reference, cw_name_adder name, enum cw_units units,
                        struct cw_text *text) {
    int decimals = cw_answer_decimals(comparison->percent);
    name(text, setup);
    cw_text_add(text, ": %.*f %% %s drag than ", decimals, fabs(comparison->percent.value),
                comparison->verdict == CW_VERDICT_LOWER ? "less" : "more");
    name(text, reference);
    cw_text_add(text, " (");
    cw_answer_range_add(comparison->percent, decimals, "%", "less", "more", text);
    cw_text_add(text, ")");
    cw_answer_p_add(comparison->p_adjusted, text);
    add_order(comparison, setup, reference, name, text);
    cw_answer_watts_add(comparison, units, text);
    add_time(comparison, text);
}

static const double most_runs = 1000; /* that anyone would think of */

/* Rounded: it is only as good as the scatter of a few runs is known. */
void cw_answer_runs_add(double runs, struct cw_text *text) {
    if (!(runs < most_runs))
        cw_text_add(text, "more runs than anyone makes");
    else if (runs < 20)
        cw_text_add(text, "about %.0f runs of each", runs);
    else
        cw_text_add(text, "about %.0f runs of each", 10 * ceil(runs / 10));
}

/* Beyond such a percentage either way, numbers only pretend to tell something. */
static const double most_told = 75;

static void add_undecided(const struct cw_comparison *comparison, const char *setup,
                          const char *reference, cw_name_adder name, struct cw_text *text) {
    int decimals = cw_answer_decimals(comparison->percent);
    double detectable = comparison->smallest_detectable_percent;
    name(text, setup);
    cw_text_add(text, ": these runs can't tell whether it has more or less drag than ");
    name(text, reference);
    if (comparison->percent.low < -most_told || comparison->percent.high > most_told) {
        cw_text_add(text, "; they say next to nothing of it");
        return;
    }
    if (isfinite(comparison->percent.low) && isfinite(comparison->percent.high)) {
        cw_text_add(text, " (");
        cw_answer_range_add(comparison->percent, decimals, "%", "less", "more", text);
        /* All on one side, but no finding after the adjustment for several comparisons. */
        if (comparison->percent.high < 0) cw_text_add(text, " less");
        if (comparison->percent.low > 0) cw_text_add(text, " more");
        cw_text_add(text, ")");
        cw_answer_p_add(comparison->p_adjusted, text);
    }
    add_order(comparison, setup, reference, name, text);
    if (!isfinite(detectable)) return;
    cw_text_add(text, "; they would have shown a difference of %.*f %%", decimals, detectable);
    double seen = fabs(comparison->percent.value);
    if (seen >= 0.5 && detectable > seen && comparison->runs_to_show_seen < most_runs) {
        cw_text_add(text, "; to show the %.*f %% seen takes ", decimals, seen);
        cw_answer_runs_add(comparison->runs_to_show_seen, text);
    }
    if (detectable > 2) {
        cw_text_add(text, "; to show 2 %% takes ");
        cw_answer_runs_add(comparison->runs_to_show_2_percent, text);
    }
}

static void add_as_it_is(struct cw_text *text, const char *name) {
    cw_text_add(text, "%s", name);
}

void cw_answer_add(const struct cw_compare *compare, size_t i, cw_name_adder name,
                   enum cw_units units, struct cw_text *text) {
    const struct cw_comparison *comparison = &compare->comparisons[i];
    const char *setup = compare->setups[comparison->setup].name;
    const char *reference = compare->setups[comparison->reference].name;
    if (!name) name = add_as_it_is;
    if (cw_comparison_asks_load(comparison)) {
        cw_as_ridden_add(compare, comparison, name, units, text);
        add_order(comparison, setup, reference, name, text);
    } else if (comparison->rolling.compared) {
        cw_rolling_answer_add(compare, i, name, units, text);
        add_order(comparison, setup, reference, name, text);
        if (comparison->rolling.told != CW_TOLD_NONE) add_time(comparison, text);
    } else if (comparison->drag_said) {
        name(text, setup);
        cw_text_add(text, " is said to have the drag of ");
        name(text, reference);
        cw_text_add(text, " and rolls on the same tyres: there is nothing to compare");
    } else if (comparison->verdict == CW_VERDICT_UNDECIDED)
        add_undecided(comparison, setup, reference, name, text);
    else
        add_decided(comparison, setup, reference, name, units, text);
    add_runout(comparison, text);
}

enum cw_verdict cw_answer_verdict(const struct cw_comparison *comparison) {
    if (cw_comparison_asks_load(comparison)) return cw_as_ridden_verdict(comparison);
    if (!comparison->rolling.compared) return comparison->verdict;
    if (comparison->rolling.told == CW_TOLD_NONE) return CW_VERDICT_UNDECIDED;
    double costs = comparison->force[1].power_w.value;
    if (!isfinite(costs)) costs = comparison->rolling.crr.value;
    return costs < 0 ? CW_VERDICT_LOWER : CW_VERDICT_HIGHER;
}
