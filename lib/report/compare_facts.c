#include "report/compare_facts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/wake.h"
#include "base/utf8.h"
#include "report/answer.h"
#include "report/doubts.h"
#include "report/estimates.h"
#include "report/fit_facts.h"
#include "report/heights.h"
#include "report/ride.h"
#include "report/rolling.h"
#include "report/timed_facts.h"
#include "report/winds.h"

bool cw_compare_answers(const struct cw_analysis *analysis) {
    return analysis->compare.n_comparisons > 0;
}

void cw_setup_name_add(struct cw_text *text, const struct cw_setup_result *setup) {
    cw_text_add(text, "%s", setup->name);
    if (!*setup->rider) return;
    if (strcmp(setup->name, setup->rider))
        cw_text_add(text, " (companion %s)", setup->rider);
    else
        cw_text_add(text, " (companion)");
}

void cw_setup_cells_add(struct cw_table *table, const struct cw_setup_result *setup, bool whose) {
    struct cw_text name = {0};
    if (whose)
        cw_setup_name_add(&name, setup);
    else
        cw_text_add(&name, "%s", setup->name);
    cw_table_add_name(table, name.bytes);
    if (name.failed) table->cells.failed = true;
    cw_text_free(&name);
    cw_table_add(table, "%zu", setup->runs);
    cw_table_add(table, "%zu", setup->outings);
    cw_table_add_number(table, setup->load_kg, 1);
    cw_table_add_range(table, setup->cda_m2, cw_level_is_told(setup));
}

const char *cw_verdict_words(enum cw_verdict verdict) {
    switch (verdict) {
    case CW_VERDICT_LOWER:
        return "less drag";
    case CW_VERDICT_HIGHER:
        return "more drag";
    case CW_VERDICT_UNDECIDED:
        break;
    }
    return "not decided";
}

static const struct cw_run *found_run(const struct cw_analysis *analysis,
                                      const struct cw_run_among *run) {
    const struct cw_analysed *of = &analysis->outings[run->outing];
    return &of->runs.at[of->fit.runs[run->index].run];
}

long cw_among_number(const struct cw_analysis *analysis, const struct cw_run_among *run) {
    return found_run(analysis, run)->number;
}

/* Where there are several outings, of which. */
static void add_of_outing(const struct cw_analysis *analysis, size_t outing, struct cw_text *text) {
    if (analysis->n > 1) cw_text_add(text, " of %s", analysis->outings[outing].outing.name);
}

/* What kind of rides they are, where no run has a setup; says whether there was any. */
static bool say_rides(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    const struct cw_compare *compare = analysis->n > 1 ? NULL : &analysis->compare;
    size_t before = sentences->n;
    for (size_t o = 0; o < analysis->n; o++) {
        struct cw_text text = {0}, named = {0};
        cw_ride_add(&analysis->outings[o], compare, &text);
        if (text.bytes && analysis->n > 1)
            cw_text_add(&named, "%s: ", analysis->outings[o].outing.name);
        if (text.bytes) {
            cw_text_add(&named, "%s", text.bytes);
            named.failed |= text.failed;
            cw_sentences_take(sentences, &named);
        }
        cw_text_free(&text);
    }
    return sentences->n > before;
}

void cw_compare_answers_said(const struct cw_analysis *analysis, enum cw_units units,
                             struct cw_sentences *sentences) {
    const struct cw_compare *compare = &analysis->compare;
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        struct cw_text text = {0};
        cw_answer_add(compare, i, NULL, units, &text);
        cw_sentences_take(sentences, &text);
    }
    if (compare->n_comparisons || say_rides(analysis, sentences)) return;
    if (!compare->n_told)
        cw_sentences_add(sentences,
                         "these runs tell no setup's CdA, so nothing can be compared: coast "
                         "further, over a wider range of speeds, more often");
    else if (compare->n_setups > 1)
        cw_sentences_add(sentences,
                         "only the runs of %s tell a CdA: there is nothing to compare it with",
                         compare->setups[0].name);
    else
        cw_sentences_add(sentences,
                         "only one setup has runs, %s: there is nothing to compare it with",
                         compare->setups[0].name);
}

/* ---- the runs ---- */

static void say_left_out(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    for (size_t o = 0; o < analysis->n; o++) {
        const struct cw_runs *runs = &analysis->outings[o].runs;
        for (size_t i = 0; i < runs->n; i++) {
            struct cw_text text = {0};
            if (!(runs->at[i].reasons & CW_REASON_OUTLIER)) continue;
            cw_text_add(&text, "run %ld", runs->at[i].number);
            add_of_outing(analysis, o, &text);
            cw_text_add(&text, " disagrees with its fellows and is left out, as asked; everything "
                               "was fitted again without it");
            cw_sentences_take(sentences, &text);
        }
    }
}

static void say_outliers(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    const struct cw_compare *compare = &analysis->compare;
    for (size_t i = 0; i < compare->n_runs; i++) {
        const struct cw_run_among *run = &compare->runs[i];
        struct cw_text text = {0};
        if (!run->outlier) continue;
        cw_text_add(&text, "run %ld", cw_among_number(analysis, run));
        add_of_outing(analysis, run->outing, &text);
        cw_text_add(
            &text, " disagrees with its fellows of %s: %.1f %% %s drag than they say, a chance of ",
            compare->setups[run->setup].name, fabs(run->percent),
            run->percent < 0 ? "less" : "more");
        if (run->p_adjusted < 0.001)
            cw_text_add(&text, "less than 0.001");
        else
            cw_text_add(&text, "%.3f", run->p_adjusted);
        cw_text_add(&text, " for the largest of %zu runs; ", compare->n_runs);
        if (fabs(run->worst_ms) < 0.1)
            cw_text_add(&text, "all along the road alike");
        else
            cw_text_add(&text, "most as if by a %s of %.1f km/h at %.0f m",
                        run->worst_ms < 0 ? "tailwind" : "headwind",
                        fabs(run->worst_ms) * CW_KMH_PER_MS, run->worst_m);
        cw_text_add(&text,
                    ". It is counted; look for what was different, and --drop leaves it out");
        if (analysis->outings[run->outing].saved)
            cw_text_add(&text, " where its recordings are at hand");
        cw_sentences_take(sentences, &text);
    }
}

static bool loads_differ(const struct cw_compare *compare) {
    for (size_t s = 1; s < compare->n_setups; s++)
        if (compare->setups[s].load_kg != compare->setups[0].load_kg) return true;
    return false;
}

/* Of how many runs in wakes each is named. */
enum { WAKES_MOST = 8 };

static void say_wakes(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    for (size_t o = 0; o < analysis->n; o++) {
        const struct cw_runs *runs = &analysis->outings[o].runs;
        struct cw_text text = {0};
        size_t n = 0, said = 0;
        for (size_t i = 0; i < runs->n; i++) n += (runs->at[i].reasons & CW_REASON_WAKE) != 0;
        if (!n) continue;
        cw_text_add(&text, n > WAKES_MOST ? "%zu runs" : n > 1 ? "runs" : "run", n);
        for (size_t i = 0; i < runs->n && n <= WAKES_MOST; i++) {
            if (!(runs->at[i].reasons & CW_REASON_WAKE)) continue;
            cw_text_add(&text, "%s%ld",
                        !said          ? " "
                        : said + 1 < n ? ", "
                                       : " and ",
                        runs->at[i].number);
            said++;
        }
        add_of_outing(analysis, o, &text);
        cw_text_add(&text,
                    " %s ridden in another rider's wake, nearer than %d m behind, and %s "
                    "left out",
                    n > 1 ? "were" : "was", CW_WAKE_M, n > 1 ? "are" : "is");
        cw_sentences_take(sentences, &text);
    }
}

/* What was noted of the tyres' pressures. */
static void say_pressures(const struct cw_analysed *of, size_t n_outings,
                          struct cw_sentences *sentences) {
    struct cw_text text = {0};
    size_t said = 0;
    if (n_outings > 1) cw_text_add(&text, "%s: ", of->outing.name);
    for (size_t t = 0; t < of->fit.n_tyres; t++) {
        double kpa = cw_outing_pressure_kpa(&of->outing, of->fit.tyres[t]);
        if (isnan(kpa)) continue;
        cw_text_add(&text, "%s%s", said++ ? ", " : "tyres ", of->fit.tyres[t]);
        cw_pressure_add(&text, " at ", kpa);
    }
    if (said) cw_text_add(&text, ", as noted: nothing is reckoned with that");
    if (said)
        cw_sentences_take(sentences, &text);
    else
        cw_text_free(&text);
}

static void say_odd_runs(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    say_left_out(analysis, sentences);
    say_wakes(analysis, sentences);
    say_outliers(analysis, sentences);
}

void cw_compare_runs_said(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    say_odd_runs(analysis, sentences);
    cw_compare_scatter_said(analysis, sentences);
}

void cw_compare_scatter_said(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    const struct cw_compare *compare = &analysis->compare;
    const struct cw_estimate *drift = &compare->drift_percent_per_hour;
    if (isfinite(compare->scatter_high_percent))
        cw_sentences_add(sentences,
                         "from run to run CdA scatters by %.1f %% beyond the runs' own errors "
                         "(95 %%: %.1f to %.1f %%)",
                         compare->scatter_percent, compare->scatter_low_percent,
                         compare->scatter_high_percent);
    if (compare->n_comparisons && loads_differ(compare))
        cw_sentences_add(sentences,
                         "the setups differ in load: drag is compared with the mass accounted for; "
                         "seconds, metres and watts are as ridden, each with its own mass");
    for (size_t o = 0; o < analysis->n; o++)
        say_pressures(&analysis->outings[o], analysis->n, sentences);
    for (size_t o = 0; o < analysis->n; o++) {
        struct cw_estimate wind = cw_estimate_kmh(analysis->outings[o].fit.wind_along_ms);
        if (!analysis->outings[o].fit.wind_told) continue;
        cw_sentences_add(
            sentences,
            "a mean wind of %.1f km/h along the road (95 %%: %.1f to %.1f km/h), %s to "
            "who rides it as its first run did, is what runs either way tell apart "
            "from drag; it is accounted for",
            fabs(wind.value), wind.value < 0 ? -wind.high : wind.low,
            wind.value < 0 ? -wind.low : wind.high, wind.value < 0 ? "a tailwind" : "a headwind");
    }
    if (isfinite(compare->wind_sd_high_ms))
        cw_sentences_add(
            sentences,
            "mean winds differ from run to run by %.1f km/h (95 %%: %.1f to %.1f km/h), "
            "as far as the runs of a setup disagree like that",
            compare->wind_sd_ms * CW_KMH_PER_MS, compare->wind_sd_low_ms * CW_KMH_PER_MS,
            compare->wind_sd_high_ms * CW_KMH_PER_MS);
    cw_winds_seen_said(analysis, sentences);
    if (!compare->has_drift) return;
    int decimals = cw_error_decimals(drift->standard_error);
    cw_sentences_add(sentences,
                     "a drift over the outing is allowed for, some 1 %% an hour: %+.*f %% is found "
                     "(95 %%: %+.*f to %+.*f)",
                     decimals, drift->value, decimals, drift->low, decimals, drift->high);
}

/* ---- what cannot be told ---- */

static void say_level(const struct cw_compare *compare, struct cw_sentences *sentences) {
    if (isfinite(compare->systematic_percent))
        cw_sentences_add(
            sentences,
            "a setup's CdA by itself from what is the same in all runs, which moves every "
            "CdA together by %.1f %% (the error budget); between setups most of it "
            "cancels",
            compare->systematic_percent);
}

static void say_wind(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    const struct cw_compare *compare = &analysis->compare;
    if (!isfinite(compare->wind_percent_per_ms)) return;
    cw_sentences_add(
        sentences,
        "a headwind from drag, in runs that all go one way: 1 km/h of steady wind that "
        "the outing file does not know of is worth %.1f %% of CdA",
        compare->wind_percent_per_ms / CW_KMH_PER_MS);
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        const struct cw_comparison *comparison = &compare->comparisons[i];
        double wind = comparison->wind_to_explain_ms;
        if (!isfinite(wind) || comparison->verdict == CW_VERDICT_UNDECIDED) continue;
        cw_sentences_add(sentences,
                         "%s against %s would be wind alone if it blew %.1f km/h from %s in the "
                         "runs of %s and not at all in those of %s",
                         compare->setups[comparison->setup].name,
                         compare->setups[comparison->reference].name, fabs(wind) * CW_KMH_PER_MS,
                         wind < 0 ? "behind" : "ahead", compare->setups[comparison->setup].name,
                         compare->setups[comparison->reference].name);
    }
}

void cw_compare_limits(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    const struct cw_compare *compare = &analysis->compare;
    say_level(compare, sentences);
    say_wind(analysis, sentences);
    cw_rolling_limits(compare, sentences);
    for (size_t i = 0; i < compare->n_comparisons; i++)
        if (isnan(compare->comparisons[i].watts_at_40kmh.value))
            cw_sentences_add(sentences,
                             "%s and %s were never ridden in one outing: what differs between days "
                             "(wind, air, tyres, rider) is in the interval as far as the outing "
                             "files' uncertainties have it, and no further",
                             compare->setups[compare->comparisons[i].setup].name,
                             compare->setups[compare->comparisons[i].reference].name);
}

/* ---- what was taken for granted, and warnings ---- */

static bool holds(const struct cw_sentences *sentences, const char *sought) {
    const char *sentence = NULL;
    while ((sentence = cw_sentences_next(sentences, sentence)))
        if (!strcmp(sentence, sought)) return true;
    return false;
}

/* What each outing has to say but for what is said already. */
static void each_outing_but(const struct cw_analysis *analysis, struct cw_sentences *sentences,
                            void (*say)(const struct cw_analysed *, struct cw_sentences *),
                            const struct cw_sentences *already) {
    for (size_t o = 0; o < analysis->n; o++) {
        const struct cw_analysed *of = &analysis->outings[o];
        struct cw_sentences own = {0};
        say(of, &own);
        for (const char *sentence = NULL; (sentence = cw_sentences_next(&own, sentence));)
            if (holds(already, sentence))
                continue;
            else if (analysis->n > 1)
                cw_sentences_add(sentences, "%s: %s", of->outing.name, sentence);
            else
                cw_sentences_add(sentences, "%s", sentence);
        if (own.text.failed) sentences->text.failed = true;
        cw_sentences_free(&own);
    }
}

static void each_outing(const struct cw_analysis *analysis, struct cw_sentences *sentences,
                        void (*say)(const struct cw_analysed *, struct cw_sentences *)) {
    each_outing_but(analysis, sentences, say, &(struct cw_sentences){0});
}

void cw_compare_defaults(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    each_outing(analysis, sentences, cw_fit_defaults);
}

/* Takes out of `common` what the outing does not take for granted. */
static void keep_common(const struct cw_analysed *of, struct cw_sentences *common) {
    struct cw_sentences own = {0}, left = {0};
    cw_fit_defaults(of, &own);
    for (const char *sentence = NULL; (sentence = cw_sentences_next(common, sentence));)
        if (holds(&own, sentence)) cw_sentences_add(&left, "%s", sentence);
    left.text.failed |= own.text.failed || common->text.failed;
    cw_sentences_free(&own);
    cw_sentences_free(common);
    *common = left;
}

void cw_compare_defaults_once(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    struct cw_sentences common = {0};
    if (analysis->n > 1) cw_fit_defaults(&analysis->outings[0], &common);
    for (size_t o = 1; o < analysis->n; o++) keep_common(&analysis->outings[o], &common);
    for (const char *sentence = NULL; (sentence = cw_sentences_next(&common, sentence));)
        cw_sentences_add(sentences, "all outings: %s", sentence);
    each_outing_but(analysis, sentences, cw_fit_defaults, &common);
    sentences->text.failed |= common.text.failed;
    cw_sentences_free(&common);
}

static void say_labels(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    const struct cw_compare *compare = &analysis->compare;
    const struct cw_labels_doubt *doubt = &compare->doubt;
    struct cw_text text = {0};
    if (!doubt->n) return;
    for (size_t k = 0; k < doubt->n; k++) {
        const struct cw_run_among *run = &compare->runs[doubt->run[k]];
        cw_text_add(&text, "%srun %ld", k ? ", and " : "", cw_among_number(analysis, run));
        add_of_outing(analysis, run->outing, &text);
        cw_text_add(&text, " is labelled %s but rides like %s", compare->setups[run->setup].name,
                    compare->setups[doubt->like[k]].name);
    }
    cw_text_add(&text,
                ": with %s changed, runs of one setup would scatter %.1f times less; look at the "
                "order in the outing file",
                doubt->n > 1 ? "these labels" : "this label", sqrt(doubt->better));
    cw_sentences_take(sentences, &text);
}

static void say_clock(const struct cw_compare *compare, struct cw_sentences *sentences) {
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        const struct cw_comparison *comparison = &compare->comparisons[i];
        const struct cw_estimate *clock = &comparison->time_by_clock_s;
        if (!(clock->standard_error > 0)) continue;
        int decimals = cw_error_decimals(clock->standard_error);
        cw_sentences_add(
            sentences,
            "%s against %s: %+.*f s over this road by the model, but %+.*f s between the "
            "gates by the clock (95 %%: %+.*f to %+.*f s), entry speeds allowed for: "
            "trust the clock; CdA or the road's heights are not what they seem",
            compare->setups[comparison->setup].name, compare->setups[comparison->reference].name,
            decimals, comparison->time_over_road_s.value, decimals, clock->value, decimals,
            clock->low, decimals, clock->high);
    }
}

void cw_compare_doubts(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    say_labels(analysis, sentences);
    say_clock(&analysis->compare, sentences);
    each_outing(analysis, sentences, cw_timed_doubts);
    cw_winds_doubts(analysis, sentences);
}

static void say_warnings(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    const struct cw_warnings *warnings = &analysis->compare.warnings;
    for (size_t i = 0; i < warnings->n; i++) {
        char text[CW_WARNING_TEXT];
        cw_warning_text(&warnings->at[i], true, text);
        cw_sentences_add(sentences, "%s", text);
    }
}

void cw_compare_weighs(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    say_odd_runs(analysis, sentences);
    cw_compare_doubts(analysis, sentences);
    say_warnings(analysis, sentences);
    each_outing(analysis, sentences, cw_fit_doubts);
}

void cw_compare_notes(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    each_outing(analysis, sentences, cw_fit_notes);
}

void cw_compare_warnings(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    cw_compare_doubts(analysis, sentences);
    say_warnings(analysis, sentences);
    each_outing(analysis, sentences, cw_fit_warnings);
}
