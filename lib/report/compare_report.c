#include "report/compare_report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/number.h"
#include "base/utf8.h"
#include "report/budget_table.h"
#include "report/compare_facts.h"
#include "report/estimates.h"
#include "report/heights.h"
#include "report/history.h"
#include "report/interval.h"
#include "report/plain.h"
#include "report/ride.h"
#include "report/rolling.h"
#include "report/timed_report.h"
#include "report/winds.h"

static const char *setup_name(const struct cw_analysis *analysis, size_t setup) {
    return analysis->compare.setups[setup].name;
}

/* ---- for people ---- */

static void heading(const struct cw_analysis *analysis, struct cw_text *out) {
    size_t turned_down = 0, runs = 0;
    for (size_t o = 0; o < analysis->n; o++) {
        cw_utf8_add_shown(out, analysis->outings[o].outing.name);
        cw_text_add(out, "\n");
        for (size_t i = 0; i < analysis->outings[o].runs.n; i++) {
            const struct cw_run *run = &analysis->outings[o].runs.at[i];
            turned_down += !run->kept && !(run->reasons & CW_REASON_OUTLIER);
        }
    }
    for (size_t s = 0; s < analysis->compare.n_setups; s++)
        runs += analysis->compare.setups[s].runs;
    cw_text_add(out, "%zu %s: ", runs, runs == 1 ? "run" : "runs");
    for (size_t s = 0; s < analysis->compare.n_setups; s++) {
        cw_text_add(out, "%s", s ? ", " : "");
        struct cw_text name = {0};
        cw_setup_name_add(&name, &analysis->compare.setups[s]);
        if (name.bytes) cw_utf8_add_shown(out, name.bytes);
        if (name.failed) out->failed = true;
        cw_text_free(&name);
        cw_text_add(out, " %zu", analysis->compare.setups[s].runs);
    }
    if (turned_down)
        cw_text_add(out, "; %zu turned down, \"coastwise runs\" says why of each", turned_down);
    cw_text_add(out, "\n");
}

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
                             .n_columns = sizeof columns / sizeof *columns - !intervals->width};
    for (size_t s = 0; s < compare->n_setups; s++) {
        cw_setup_cells_add(&table, &compare->setups[s], false); /* the heading tells */
        add_interval(&table, intervals, compare->setups[s].cda_m2);
    }
    cw_table_write(&table, out);
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
                                        {"p", "", true},
                                        {"as wind", "m/s", true},
                                        {"at", "m", true},
                                        {head.bytes ? head.bytes : "", sign.m2, false}};
    struct cw_table table = {.columns = columns + !several,
                             .n_columns =
                                 sizeof columns / sizeof *columns - !intervals->width - !several};
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
        cw_table_add_number(&table, run->worst_ms, 1);
        cw_table_add_number(&table, run->worst_m, 0);
        add_interval(&table, intervals, run->cda_m2);
    }
    cw_table_write(&table, out);
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
        "Runs among their fellows: how far off their setup's mean, drift taken off (p is "
        "that of the largest of so many), and where along the road a run departs most, "
        "as if by so much wind (+ is a headwind)",
        look, 0);
    cw_intervals_write(scale, look, runs_table, analysis, out);
}

static void differences_write(const struct cw_table *table, bool several,
                              const struct cw_look *look, struct cw_text *out) {
    cw_text_add(out, "\n");
    cw_wrapped_add(out,
                   several ? "Differences in drag; the verdict is by p adjusted for the number of "
                             "comparisons (Holm); \"would show\" is the smallest difference that "
                             "outings like this one find in 80 of 100 cases"
                           : "Differences in drag; \"would show\" is the smallest difference that "
                             "outings like this one find in 80 of 100 cases",
                   look, 0);
    cw_table_write(table, out);
}

static void differences_table(const struct cw_analysis *analysis, const struct cw_look *look,
                              struct cw_text *out) {
    const struct cw_compare *compare = &analysis->compare;
    struct cw_signs sign = cw_signs_of(look);
    bool several = compare->n_comparisons > 1 || cw_rolling_any(compare);
    struct cw_column columns[16] = {
        {"setup", "", false}, {"against", "", false}, {"drag", "%", true}, {"95 % from", "%", true},
        {"to", "%", true},    {"CdA", sign.m2, true}, {"p", "", true}};
    struct cw_table table = {.columns = columns, .n_columns = 7};
    if (several) columns[table.n_columns++] = (struct cw_column){"adjusted", "", true};
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
        cw_table_add_p(&table, c->p_value);
        if (several) cw_table_add_p(&table, c->p_adjusted);
        add_percent(&table, c->smallest_detectable_percent,
                    cw_error_decimals(c->smallest_detectable_percent));
        cw_table_add(&table, "%s", cw_verdict_words(c->verdict));
    }
    if (table.n_cells) differences_write(&table, several, look, out);
    cw_table_free(&table);
}

static void worth_row(struct cw_table *table, const struct cw_analysis *analysis,
                      const struct cw_comparison *c, const char *what, const char *unit,
                      struct cw_estimate estimate) {
    if (!isfinite(estimate.value)) return;
    int decimals = cw_error_decimals(estimate.standard_error);
    cw_table_add(table, "%s", setup_name(analysis, c->setup));
    cw_table_add(table, "%s", setup_name(analysis, c->reference));
    cw_table_add(table, "%s", what);
    cw_table_add_number(table, estimate.value, decimals);
    cw_table_add(table, "%s", unit);
    cw_table_add_number(table, estimate.low, decimals);
    cw_table_add_number(table, estimate.high, decimals);
}

static void rolling_tables(const struct cw_analysis *analysis, const struct cw_look *look,
                           struct cw_text *out) {
    static const struct cw_column columns[] = {CW_ROLLING_COLUMNS}, forces[] = {CW_FORCE_COLUMNS};
    struct cw_table table = {.columns = columns, .n_columns = sizeof columns / sizeof *columns};
    struct cw_table sums = {.columns = forces, .n_columns = sizeof forces / sizeof *forces};
    cw_rolling_rows_add(&analysis->compare, &table);
    cw_force_rows_add(&analysis->compare, &sums);
    if (table.n_cells) {
        cw_text_add(out, "\n");
        cw_wrapped_add(out,
                       "Differences in rolling, of setups on different tyres; what one has too "
                       "much of drag and rolling the other has too little",
                       look, 0);
        cw_table_write(&table, out);
    }
    if (sums.n_cells) {
        cw_text_add(out, "\n");
        cw_wrapped_add(out,
                       "Drag and rolling together, as ridden, at a steady speed on the flat in "
                       "still air: known better than either",
                       look, 0);
        cw_table_write(&sums, out);
    }
    cw_table_free(&table);
    cw_table_free(&sums);
}

static void worth_table(const struct cw_analysis *analysis, struct cw_text *out) {
    static const struct cw_column columns[] = {
        {"setup", "", false}, {"against", "", false},  {"", "", false}, {"", "", true},
        {"", "", false},      {"95 % from", "", true}, {"to", "", true}};
    const struct cw_compare *compare = &analysis->compare;
    struct cw_table table = {.columns = columns, .n_columns = sizeof columns / sizeof *columns};
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        const struct cw_comparison *c = &compare->comparisons[i];
        worth_row(&table, analysis, c, "time over this road", "s", c->time_over_road_s);
        worth_row(&table, analysis, c, "run-out", "m", c->runout_m);
        if (!c->rolling.compared)
            worth_row(&table, analysis, c, "on the flat at 40 km/h", "W", c->watts_at_40kmh);
    }
    if (table.n_cells) {
        cw_text_add(out, "\nWhat that is worth, as ridden, from the same entry speed in still "
                         "air\n");
        cw_table_write(&table, out);
    }
    cw_table_free(&table);
}

static enum cw_status measured(const struct cw_analysis *analysis, const struct cw_look *look,
                               struct cw_text *out, struct cw_error *error) {
    enum cw_status status = CW_OK;
    for (size_t o = 0; o < analysis->n && status >= 0; o++) {
        const struct cw_analysed *of = &analysis->outings[o];
        if (!of->timed.n) continue;
        cw_text_add(out, "\n");
        if (analysis->n > 1) {
            cw_utf8_add_shown(out, of->outing.name);
            cw_text_add(out, "\n");
        }
        status = cw_report_timed_table(of, look, out, error);
    }
    return status;
}

static void winds(const struct cw_analysis *analysis, const struct cw_look *look,
                  struct cw_text *out) {
    struct cw_signs sign = cw_signs_of(look);
    for (size_t o = 0; o < analysis->n; o++) {
        struct cw_column columns[CW_WIND_COLUMNS_MOST];
        struct cw_table table;
        struct cw_text head = {0};
        cw_winds_rows(analysis, o, sign.plus_minus, columns, &table);
        if (table.n_cells) {
            cw_text_add(&head, "The runs' winds along the road");
            if (analysis->n > 1) cw_text_add(&head, " in %s", analysis->outings[o].outing.name);
            cw_text_add(&head, " (+ is a headwind), and how well each is known beside the others");
            cw_text_add(out, "\n");
            cw_wrapped_take(out, &head, look, 0);
            cw_table_write(&table, out);
        }
        cw_table_free(&table);
    }
}

/* What the runs answer, and what their recorder can tell. */
static void answer(const struct cw_analysis *analysis, const struct cw_look *look,
                   struct cw_text *out) {
    struct cw_sentences answers = {0}, winds = {0}, heights = {0};
    cw_compare_answers_said(analysis, &answers);
    cw_winds_said(analysis, &winds);
    cw_heights_said(analysis, &heights);
    cw_text_add(out, "\n");
    cw_sentences_write(&answers, look, out);
    if (winds.n) cw_text_add(out, "\n");
    cw_sentences_write(&winds, look, out);
    cw_text_add(out, "\n");
    cw_sentences_write(&heights, look, out);
    for (size_t o = 0; o < analysis->n; o++) cw_ride_lines_add(&analysis->outings[o], look, out);
}

enum cw_status cw_report_compare_table(const struct cw_analysis *analysis,
                                       const struct cw_look *look, struct cw_text *out,
                                       struct cw_error *error) {
    const struct cw_compare *compare = &analysis->compare;
    struct cw_scale scale = shared_scale(compare, out);
    struct cw_sentences runs = {0}, limits = {0}, defaults = {0}, warnings = {0};
    heading(analysis, out);
    answer(analysis, look, out);
    cw_text_add(out, "\nSetups, on the average of their runs\n");
    if (cw_intervals_write(&scale, look, setups_table, analysis, out))
        cw_intervals_explain(look, out);
    cw_history_tables(analysis, look, out);
    if (compare->n_comparisons) {
        differences_table(analysis, look, out);
        rolling_tables(analysis, look, out);
        worth_table(analysis, out);
    }
    enum cw_status status = measured(analysis, look, out, error);
    if (status < 0) return status;
    if (compare->n_runs) among(analysis, &scale, look, out);
    winds(analysis, look, out);
    cw_compare_runs_said(analysis, &runs);
    cw_sentences_list("What the runs say", &runs, look, out);
    cw_budget_table(compare, look, out);
    cw_compare_limits(analysis, &limits);
    cw_sentences_list("What these runs cannot tell apart", &limits, look, out);
    cw_compare_defaults(analysis, &defaults);
    cw_sentences_list("Taken for granted", &defaults, look, out);
    cw_compare_warnings(analysis, &warnings);
    cw_sentences_list("Mind", &warnings, look, out);
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
