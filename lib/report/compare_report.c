#include "report/compare_report.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "base/number.h"
#include "base/print.h"
#include "base/utf8.h"
#include "report/budget_table.h"
#include "report/compare_facts.h"
#include "report/estimates.h"
#include "report/heights.h"
#include "report/history.h"
#include "report/interval.h"
#include "report/plain.h"
#include "report/rests.h"
#include "report/ride.h"
#include "report/rolling.h"
#include "report/timed_report.h"
#include "report/winds.h"

static const char *setup_name(const struct cw_analysis *analysis, size_t setup) {
    return analysis->compare.setups[setup].name;
}

/* ---- for people ---- */

static void add_interval(struct cw_table *table, const struct cw_intervals *intervals,
                         struct cw_estimate estimate) {
    struct cw_text text = {0};
    if (!intervals->width) return;
    cw_intervals_add(intervals, estimate, &text);
    cw_table_add(table, "%s", text.bytes ? text.bytes : "");
    if (text.failed) table->cells.failed = true;
    cw_text_free(&text);
}

static void setups_table(const void *of, const struct cw_intervals *intervals,
                         struct cw_text *out) {
    const struct cw_analysis *analysis = of;
    const struct cw_compare *compare = &analysis->compare;
    struct cw_signs sign = cw_signs_of(intervals->look);
    struct cw_text head = {0};
    cw_intervals_add_head(intervals, &head);
    const struct cw_column columns[] = {CW_SETUP_COLUMNS(sign.m2, sign.plus_minus),
                                        {head.bytes ? head.bytes : "", sign.m2, false}};
    struct cw_table table = {.columns = columns,
                             .n_columns = sizeof columns / sizeof *columns - !intervals->width,
                             .units = intervals->look->units};
    for (size_t s = 0; s < compare->n_setups; s++) {
        cw_setup_cells_add(&table, &compare->setups[s], false); /* the heading tells */
        add_interval(&table, intervals, compare->setups[s].cda_m2);
    }
    cw_table_write(&table, intervals->look, out);
    cw_table_free(&table);
    cw_text_free(&head);
}

static void runs_table(const void *of, const struct cw_intervals *intervals, struct cw_text *out) {
    const struct cw_analysis *analysis = of;
    const struct cw_compare *compare = &analysis->compare;
    bool several = analysis->n > 1;
    struct cw_signs sign = cw_signs_of(intervals->look);
    struct cw_text head = {0};
    cw_intervals_add_head(intervals, &head);
    const struct cw_column columns[] = {{"outing", "", true},
                                        {"run", "", true},
                                        {"setup", "", false},
                                        {"CdA", sign.m2, true},
                                        {sign.plus_minus, sign.m2, true},
                                        {"off", "%", true},
                                        {"t", "", true},
                                        {"chance", "", true},
                                        {"as wind", "km/h", true},
                                        {"at", "m", true},
                                        {head.bytes ? head.bytes : "", sign.m2, false}};
    struct cw_table table = {.columns = columns + !several,
                             .n_columns =
                                 sizeof columns / sizeof *columns - !intervals->width - !several,
                             .units = intervals->look->units};
    for (size_t i = 0; i < compare->n_runs; i++) {
        const struct cw_run_among *run = &compare->runs[i];
        int decimals = cw_error_decimals(run->cda_m2.standard_error);
        if (several) cw_table_add(&table, "%zu", run->outing + 1);
        cw_table_add(&table, "%ld%s", cw_among_number(analysis, run), run->outlier ? "!" : "");
        cw_table_add(&table, "%s", setup_name(analysis, run->setup));
        cw_table_add_number(&table, run->cda_m2.value, decimals);
        cw_table_add_number(&table, run->cda_m2.standard_error, decimals);
        cw_table_add_number(&table, run->percent, 1);
        cw_table_add_number(&table, run->t, 1);
        cw_table_add_p(&table, run->p_adjusted);
        cw_table_add_kmh(&table, run->worst_ms);
        cw_table_add_number(&table, run->worst_m, 0);
        add_interval(&table, intervals, run->cda_m2);
    }
    cw_table_write(&table, intervals->look, out);
    cw_table_free(&table);
    cw_text_free(&head);
}

/* One scale for setups and runs, so that a run can be held against its setup by eye. */
static struct cw_scale shared_scale(const struct cw_compare *compare, struct cw_text *out) {
    size_t n = compare->n_setups + compare->n_runs;
    struct cw_scale scale = {NAN, NAN, 0};
    struct cw_estimate *all = malloc(n * sizeof *all);
    if (!all) out->failed = true;
    if (!all) return scale;
    for (size_t s = 0; s < compare->n_setups; s++) all[s] = compare->setups[s].cda_m2;
    for (size_t i = 0; i < compare->n_runs; i++)
        all[compare->n_setups + i] = compare->runs[i].cda_m2;
    scale = cw_scale_make(all, n);
    free(all);
    return scale;
}

/* Beyond a thousand percent a number says nothing but that. */
static void add_percent(struct cw_table *table, double percent, int decimals) {
    if (percent > 1000)
        cw_table_add(table, ">1000");
    else
        cw_table_add_number(table, percent, decimals);
}

static void among(const struct cw_analysis *analysis, const struct cw_scale *scale,
                  const struct cw_look *look, struct cw_text *out) {
    cw_text_add(out, "\n");
    cw_wrapped_add(
        out,
        "Runs among their fellows: how far off their setup's mean, drift taken off; the chance "
        "that the largest of so many is that far off; and where along the road a run departs "
        "most, as if by so much wind (+ is a headwind)",
        look, 0);
    cw_intervals_write(scale, look, runs_table, analysis, out);
}

/* What the heads mean. */
static void differences_write(const struct cw_table *table, bool several,
                              const struct cw_look *look, struct cw_text *out) {
    cw_text_add(out, "\n");
    cw_wrapped_add(
        out,
        several ? "Differences in drag; p is adjusted for the number of comparisons "
                  "(Holm), and the verdict by it; outings like this one find a "
                  "difference that \"would show\" in 80 of 100 cases"
                : "Differences in drag; \"would show\": found in 80 of 100 outings like this one",
        look, 0);
    cw_table_write(table, look, out);
}

static void differences_table(const struct cw_analysis *analysis, const struct cw_look *look,
                              struct cw_text *out) {
    const struct cw_compare *compare = &analysis->compare;
    struct cw_signs sign = cw_signs_of(look);
    bool several = compare->n_comparisons > 1 || cw_rolling_any(compare);
    struct cw_column columns[16] = {
        {"setup", "", false}, {"against", "", false}, {"drag", "%", true}, {"95 % from", "%", true},
        {"to", "%", true},    {"CdA", sign.m2, true}, {"p", "", true}};
    struct cw_table table = {.columns = columns, .n_columns = 7, .keys = 2, .units = look->units};
    if (several) columns[table.n_columns++] = (struct cw_column){"p alone", "", true};
    columns[table.n_columns++] = (struct cw_column){"would show", "%", true};
    columns[table.n_columns++] = (struct cw_column){"verdict", "", false};
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        const struct cw_comparison *c = &compare->comparisons[i];
        int decimals = cw_error_decimals(c->percent.standard_error);
        if (c->drag_said) continue;
        cw_table_add(&table, "%s", setup_name(analysis, c->setup));
        cw_table_add(&table, "%s", setup_name(analysis, c->reference));
        add_percent(&table, c->percent.value, decimals);
        add_percent(&table, c->percent.low, decimals);
        add_percent(&table, c->percent.high, decimals);
        cw_table_add_number(&table, c->difference_m2.value,
                            cw_error_decimals(c->difference_m2.standard_error));
        cw_table_add_p(&table, c->p_adjusted);
        if (several) cw_table_add_p(&table, c->p_value);
        add_percent(&table, c->smallest_detectable_percent,
                    cw_error_decimals(c->smallest_detectable_percent));
        cw_table_add(&table, "%s", cw_verdict_words(c->verdict));
    }
    if (table.n_cells) differences_write(&table, several, look, out);
    cw_table_free(&table);
}

static void rolling_tables(const struct cw_analysis *analysis, const struct cw_look *look,
                           struct cw_text *out) {
    static const struct cw_column columns[] = {CW_ROLLING_COLUMNS}, forces[] = {CW_FORCE_COLUMNS};
    struct cw_table table = {
        .columns = columns, .n_columns = sizeof columns / sizeof *columns, .units = look->units};
    struct cw_table sums = {
        .columns = forces, .n_columns = sizeof forces / sizeof *forces, .units = look->units};
    cw_rolling_rows_add(&analysis->compare, &table);
    cw_force_rows_add(&analysis->compare, &sums);
    if (table.n_cells) {
        cw_text_add(out, "\n");
        cw_wrapped_add(out,
                       "Differences in rolling, of setups on different tyres; what one has too "
                       "much of drag and rolling the other has too little",
                       look, 0);
        cw_table_write(&table, look, out);
    }
    if (sums.n_cells) {
        cw_text_add(out, "\n");
        cw_wrapped_add(out,
                       "Drag and rolling together, as ridden, at a steady speed on the flat in "
                       "still air: known better than either",
                       look, 0);
        cw_table_write(&sums, look, out);
    }
    cw_table_free(&table);
    cw_table_free(&sums);
}

/* What a difference is worth by the model, a quantity three columns. */
enum { WORTH_TIME, WORTH_RUNOUT, WORTH_WATTS, WORTHS };
static const char *const worth_units[WORTHS] = {"s", "m", "W"};

static struct cw_estimate worth_of(const struct cw_comparison *c, enum cw_units units, size_t i) {
    if (i == WORTH_TIME) return c->time_over_road_s;
    if (i == WORTH_RUNOUT) return c->runout_m;
    return cw_estimate_where(!c->rolling.compared, /* where drag alone is compared */
                             cw_fast_watts(c, units));
}

static void worth_table(const struct cw_analysis *analysis, const struct cw_look *look,
                        struct cw_text *out) {
    const struct cw_compare *compare = &analysis->compare;
    struct cw_column columns[2 + 3 * WORTHS] = {{"setup", "", false}, {"against", "", false}};
    struct cw_table table = {.columns = columns, .n_columns = 2, .keys = 2, .units = look->units};
    bool shown[WORTHS] = {false};
    char watts[16];
    cw_print(watts, sizeof watts, "at %s", cw_fast_text(look->units));
    const char *const named[WORTHS] = {"over road", "run-out", watts};
    for (size_t i = 0; i < compare->n_comparisons; i++)
        for (size_t k = 0; k < WORTHS; k++)
            shown[k] =
                shown[k] || isfinite(worth_of(&compare->comparisons[i], look->units, k).value);
    for (size_t k = 0; k < WORTHS; k++) {
        const char *heads[] = {named[k], "95 % from", "to"};
        for (size_t e = 0; e < 3 && shown[k]; e++)
            columns[table.n_columns++] = (struct cw_column){heads[e], worth_units[k], true};
    }
    if (table.n_columns == 2) return;
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        const struct cw_comparison *c = &compare->comparisons[i];
        cw_table_add(&table, "%s", setup_name(analysis, c->setup));
        cw_table_add(&table, "%s", setup_name(analysis, c->reference));
        for (size_t k = 0; k < WORTHS; k++) {
            struct cw_estimate estimate = worth_of(c, look->units, k);
            int decimals = cw_error_decimals(estimate.standard_error);
            if (!shown[k]) continue;
            cw_table_add_number(&table, estimate.value, decimals);
            cw_table_add_number(&table, estimate.low, decimals);
            cw_table_add_number(&table, estimate.high, decimals);
        }
    }
    cw_text_add(out, "\n");
    cw_wrapped_add(out,
                   "What that is worth by the model, as ridden, from one entry speed in still air",
                   look, 0);
    cw_table_write(&table, look, out);
    cw_table_free(&table);
}

static enum cw_status measured(const struct cw_analysis *analysis, bool all,
                               const struct cw_look *look, struct cw_text *out,
                               struct cw_error *error) {
    enum cw_status status = CW_OK;
    for (size_t o = 0; o < analysis->n && status >= 0; o++) {
        const struct cw_analysed *of = &analysis->outings[o];
        if (!of->timed.n || (!all && !of->timed.n_comparisons)) continue;
        cw_text_add(out, "\n");
        if (analysis->n > 1) {
            cw_utf8_add_shown(out, of->outing.name);
            cw_text_add(out, "\n");
        }
        status = cw_report_timed_table(of, all, look, out, error);
    }
    return status;
}

static void winds(const struct cw_analysis *analysis, const struct cw_look *look,
                  struct cw_text *out) {
    struct cw_signs sign = cw_signs_of(look);
    for (size_t o = 0; o < analysis->n; o++) {
        struct cw_column columns[CW_WIND_COLUMNS_MOST];
        struct cw_table table = {.units = look->units};
        const struct cw_clock clock = cw_clock_of(&analysis->outings[o]);
        struct cw_text head = {0};
        cw_winds_rows(analysis, o, sign.plus_minus, &clock, columns, &table);
        if (table.n_cells) {
            cw_text_add(&head, "The runs' winds along the road");
            if (analysis->n > 1) cw_text_add(&head, " in %s", analysis->outings[o].outing.name);
            cw_text_add(&head, " (+ is a headwind), and how well each is known beside the others");
            cw_text_add(out, "\n");
            cw_wrapped_take(out, &head, look, 0);
            cw_table_write(&table, look, out);
        }
        cw_table_free(&table);
    }
}

/* The answers, with the lines to type where runs have no setups. */
static void answer(const struct cw_analysis *analysis, const struct cw_look *look,
                   struct cw_text *out) {
    struct cw_sentences answers = {0};
    cw_compare_answers_said(analysis, look->units, &answers);
    cw_sentences_write(&answers, look, out);
    for (size_t o = 0; o < analysis->n; o++) cw_ride_lines_add(&analysis->outings[o], look, out);
}

/* Of more outings than these the first are described. */
enum { OUTINGS_MOST = 3, NOTES_MOST = 5 };

static void say_heights(const struct cw_analysed *of, struct cw_sentences *said) {
    struct cw_text heights = {0};
    cw_heights_say(of, NULL, &heights);
    cw_sentences_take(said, &heights);
}

/* What it rests on, and what could change it. */
static void rests(const struct cw_analysis *analysis, bool all, const struct cw_look *look,
                  struct cw_text *out) {
    struct cw_sentences winds = {0}, heights = {0}, mind = {0};
    for (size_t o = 0; o < analysis->n && (all || o < OUTINGS_MOST); o++) {
        struct cw_sentences said = {0};
        cw_rests_said(&analysis->outings[o], &said);
        if (analysis->n > 1) say_heights(&analysis->outings[o], &said);
        cw_text_add(out, "\n");
        cw_sentences_write(&said, look, out);
    }
    if (!all && analysis->n > OUTINGS_MOST)
        cw_text_add(out, "\nand %zu more outings; --all describes them\n",
                    analysis->n - OUTINGS_MOST);
    cw_winds_said(analysis, &winds);
    if (analysis->n == 1) cw_heights_said(analysis, &heights);
    cw_sentences_write(&winds, look, out);
    cw_sentences_write(&heights, look, out);
    cw_compare_weighs(analysis, &mind);
    cw_sentences_list("Mind", &mind, look, out);
}

/* What the answer does not need: how the runs compare one by one, and what they cannot tell. */
static void rest(const struct cw_analysis *analysis, const struct cw_scale *scale,
                 const struct cw_look *look, struct cw_text *out) {
    const struct cw_compare *compare = &analysis->compare;
    struct cw_sentences scatter = {0}, limits = {0};
    if (compare->n_runs) among(analysis, scale, look, out);
    winds(analysis, look, out);
    cw_compare_scatter_said(analysis, &scatter);
    cw_sentences_list("How the runs scatter", &scatter, look, out);
    cw_budget_table(compare, look, out);
    cw_compare_limits(analysis, &limits);
    cw_sentences_list("What these runs cannot tell apart", &limits, look, out);
}

enum cw_status cw_report_compare_table(const struct cw_analysis *analysis, bool all,
                                       const struct cw_look *look, struct cw_text *out,
                                       struct cw_error *error) {
    const struct cw_compare *compare = &analysis->compare;
    struct cw_scale scale = shared_scale(compare, out);
    struct cw_sentences defaults = {0}, notes = {0};
    answer(analysis, look, out);
    rests(analysis, all, look, out);
    cw_text_add(out, "\nSetups, on the average of their runs\n");
    if (cw_intervals_write(&scale, look, setups_table, analysis, out))
        cw_intervals_explain(look, out);
    cw_history_tables(analysis, look, out);
    if (compare->n_comparisons) {
        differences_table(analysis, look, out);
        rolling_tables(analysis, look, out);
        worth_table(analysis, look, out);
    }
    enum cw_status status = measured(analysis, all, look, out, error);
    if (status < 0) return status;
    if (all) rest(analysis, &scale, look, out);
    cw_compare_defaults_once(analysis, &defaults);
    cw_sentences_list("Taken for granted", &defaults, look, out);
    cw_compare_notes(analysis, &notes);
    cw_sentences_list_some("Notes", all ? notes.n : NOTES_MOST, &notes, look, out);
    if (!all) {
        cw_text_add(out, "\n");
        cw_wrapped_add(
            out,
            "--all adds the times of every run at the gates, each run among its fellows, "
            "how runs scatter, the error budget, and what these runs cannot tell apart",
            look, 0);
    }
    return out->failed ? cw_error_memory(error) : CW_OK;
}

/* ---- CSV: a line a comparison ---- */

enum cw_status cw_report_compare_csv(const struct cw_analysis *analysis, struct cw_text *out,
                                     struct cw_error *error) {
    static const char *const heads[] = {"setup",
                                        "reference",
                                        "setup_runs",
                                        "reference_runs",
                                        CW_ESTIMATE_HEADS("difference_m2"),
                                        CW_ESTIMATE_HEADS("percent"),
                                        "df",
                                        "p_value",
                                        "p_adjusted",
                                        "verdict",
                                        "smallest_detectable_percent",
                                        CW_ESTIMATE_HEADS("time_over_road_s"),
                                        CW_ESTIMATE_HEADS("runout_m"),
                                        CW_ESTIMATE_HEADS("watts_at_40kmh"),
                                        "wind_to_explain_ms",
                                        CW_ESTIMATE_HEADS("time_watched_s"),
                                        CW_ESTIMATE_HEADS("runout_taped_m"),
                                        "wind_known_to_ms",
                                        "half_percent_without",
                                        "drag_said_same",
                                        CW_ESTIMATE_HEADS("crr_difference"),
                                        CW_ESTIMATE_HEADS("crr_percent"),
                                        "crr_p_value",
                                        "crr_p_adjusted",
                                        "crr_verdict",
                                        "correlation",
                                        CW_ESTIMATE_HEADS("force_n_at_20kmh"),
                                        CW_ESTIMATE_HEADS("force_n_at_30kmh"),
                                        CW_ESTIMATE_HEADS("force_n_at_40kmh")};
    const struct cw_compare *compare = &analysis->compare;
    struct cw_csv csv = {.out = out};
    cw_csv_add_heads(&csv, heads, sizeof heads / sizeof *heads);
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        const struct cw_comparison *c = &compare->comparisons[i];
        cw_csv_add(&csv, setup_name(analysis, c->setup));
        cw_csv_add(&csv, setup_name(analysis, c->reference));
        cw_csv_add_number(&csv, (double)compare->setups[c->setup].runs);
        cw_csv_add_number(&csv, (double)compare->setups[c->reference].runs);
        cw_csv_add_estimate(&csv, c->difference_m2);
        cw_csv_add_estimate(&csv, c->percent);
        cw_csv_add_number(&csv, c->df);
        cw_csv_add_number(&csv, c->p_value);
        cw_csv_add_number(&csv, c->p_adjusted);
        cw_csv_add(&csv, cw_verdict_text(c->verdict));
        cw_csv_add_number(&csv, c->smallest_detectable_percent);
        cw_csv_add_estimate(&csv, c->time_over_road_s);
        cw_csv_add_estimate(&csv, c->runout_m);
        cw_csv_add_estimate(&csv, c->watts_at_40kmh);
        cw_csv_add_number(&csv, c->wind_to_explain_ms);
        cw_csv_add_estimate(&csv, c->time_watched_s);
        cw_csv_add_estimate(&csv, c->runout_taped_m);
        cw_csv_add_number(&csv, compare->wind.known_ms);
        cw_csv_add_number(&csv, i ? NAN : compare->wind.half_percent_without);
        const struct cw_rolling_difference *d = &c->rolling;
        cw_csv_add(&csv, c->drag_said ? "true" : "false");
        cw_csv_add_estimate(&csv, d->crr);
        cw_csv_add_estimate(&csv, d->percent);
        cw_csv_add_number(&csv, d->p_value);
        cw_csv_add_number(&csv, d->p_adjusted);
        cw_csv_add(&csv, d->compared ? cw_verdict_text(d->verdict) : NULL);
        cw_csv_add_number(&csv, d->correlation);
        for (size_t k = 0; k < CW_FORCES; k++) cw_csv_add_estimate(&csv, c->force[k].force_n);
        cw_csv_end_row(&csv);
    }
    return out->failed ? cw_error_memory(error) : CW_OK;
}
