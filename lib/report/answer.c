#include "report/answer.h"

#include <math.h>

#include "report/interval.h"

/* A sentence has tenths, of a percent and of a second, unless all happens below them. */
static int decimals_of(struct cw_estimate estimate) {
    int decimals = cw_error_decimals(estimate.standard_error);
    return decimals > 2 ? decimals - 1 : 1;
}

/* "2.3 to 5.9 %", or "0.6 s faster to 5.0 s slower" where the interval takes in nothing at all. */
static void add_range(struct cw_estimate estimate, int decimals, const char *unit,
                      const char *below, const char *above, struct cw_text *text) {
    double low = fabs(estimate.low), high = fabs(estimate.high);
    if ((estimate.low < 0) == (estimate.high < 0))
        cw_text_add(text, "%.*f to %.*f %s", decimals, fmin(low, high), decimals, fmax(low, high),
                    unit);
    else
        cw_text_add(text, "%.*f %s %s to %.*f %s %s", decimals, low, unit, below, decimals, high,
                    unit, above);
}

static void add_time(struct cw_estimate time_s, struct cw_text *text) {
    if (!isfinite(time_s.value)) return;
    int decimals = decimals_of(time_s);
    cw_text_add(text, "; on this road %.*f s %s (", decimals, fabs(time_s.value),
                time_s.value < 0 ? "faster" : "slower");
    add_range(time_s, decimals, "s", "faster", "slower", text);
    cw_text_add(text, ")");
}

static void add_decided(const struct cw_comparison *comparison, const char *setup,
                        const char *reference, cw_name_adder name, struct cw_text *text) {
    int decimals = decimals_of(comparison->percent);
    name(text, setup);
    cw_text_add(text, ": %.*f %% %s drag than ", decimals, fabs(comparison->percent.value),
                comparison->verdict == CW_VERDICT_LOWER ? "less" : "more");
    name(text, reference);
    cw_text_add(text, " (");
    add_range(comparison->percent, decimals, "%", "less", "more", text);
    cw_text_add(text, ")");
    add_time(comparison->time_over_road_s, text);
}

static void add_undecided(const struct cw_comparison *comparison, const char *setup,
                          const char *reference, cw_name_adder name, struct cw_text *text) {
    int decimals = decimals_of(comparison->percent);
    double detectable = comparison->smallest_detectable_percent;
    name(text, setup);
    cw_text_add(text, ": these runs can't tell whether it has more or less drag than ");
    name(text, reference);
    if (isfinite(comparison->percent.low) && isfinite(comparison->percent.high)) {
        cw_text_add(text, " (");
        add_range(comparison->percent, decimals, "%", "less", "more", text);
        cw_text_add(text, ")");
    }
    if (isfinite(detectable))
        cw_text_add(text,
                    "; they would have shown a difference of %.*f %%, and it takes about four "
                    "times as many runs to show half of that",
                    decimals, detectable);
}

void cw_answer_add(const struct cw_compare *compare, size_t i, cw_name_adder name,
                   struct cw_text *text) {
    const struct cw_comparison *comparison = &compare->comparisons[i];
    const char *setup = compare->setups[comparison->setup].name;
    const char *reference = compare->setups[comparison->reference].name;
    if (comparison->verdict == CW_VERDICT_UNDECIDED)
        add_undecided(comparison, setup, reference, name, text);
    else
        add_decided(comparison, setup, reference, name, text);
}
