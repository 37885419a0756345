#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "base/number.h"
#include "base/print.h"
#include "page/html_table.h"
#include "page/parts.h"
#include "report/budget_table.h"
#include "report/clock.h"
#include "report/compare_facts.h"
#include "report/estimates.h"
#include "report/explain_facts.h"
#include "report/fit_facts.h"
#include "report/history.h"
#include "report/markup.h"
#include "report/plain.h"
#include "report/rolling.h"
#include "report/run_facts.h"
#include "report/timed_facts.h"
#include "report/winds.h"

#define COLUMNS(list) .columns = (list), .n_columns = sizeof(list) / sizeof *(list)

#define ESTIMATE(head, unit) CW_ESTIMATE_COLUMNS(head, unit, "±")

void cw_page_add_table(struct cw_table *table, const char *id, size_t outing, const char *caption,
                       const char *const *runs, struct cw_text *text) {
    char unique[64];
    cw_print(unique, sizeof unique, "%s-%zu", id, outing + 1);
    struct cw_html_table html = {.id = unique, .caption = caption, .runs = runs};
    cw_html_table_add(&html, table, text);
    cw_table_free(table);
}

/* ---- over all outings ---- */

void cw_page_add_setups(const struct cw_page *page, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    static const struct cw_column columns[] = {CW_SETUP_COLUMNS("m²", "±")};
    const struct cw_compare *compare = cw_analysis_compared(analysis);
    struct cw_table table = {COLUMNS(columns), .units = page->units};
    if (!compare) {
        cw_text_add(text, "<p id=\"setups\">No run has a setup.</p>\n");
        return;
    }
    for (size_t i = 0; i < compare->n_setups; i++)
        cw_setup_cells_add(&table, &compare->setups[i], true);
    cw_text_add(text, "<div id=\"setups\">\n");
    cw_page_add_table(&table, "table-setups", 0, "Setups, the mean of their runs", NULL, text);
    struct cw_sentences said = {0};
    cw_compare_runs_said(analysis, &said);
    cw_page_add_sentences(&said, text);
    cw_text_add(text, "</div>\n");
}

void cw_page_add_history(const struct cw_page *page, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    static const struct cw_column columns[] = {CW_HISTORY_COLUMNS("°C", "m²", "±")},
                                  rolling[] = {CW_TYRES_HISTORY_COLUMNS("°C", "±")};
    struct cw_table table = {COLUMNS(columns), .units = page->units},
                    tyres = {COLUMNS(rolling), .units = page->units};
    cw_history_rows_add(analysis, &table);
    cw_tyres_history_rows_add(analysis, &tyres);
    if (table.n_cells)
        cw_page_add_table(&table, "table-history", 0,
                          "CdA of each outing by itself, and of all together", NULL, text);
    if (tyres.n_cells)
        cw_page_add_table(&tyres, "table-tyres-history", 0,
                          "Crr of the tyres likewise, as it would be at 20 °C", NULL, text);
    cw_table_free(&table);
    cw_table_free(&tyres);
}

static void add_difference_row(const struct cw_compare *compare, size_t i, struct cw_table *table) {
    const struct cw_comparison *comparison = &compare->comparisons[i];
    cw_table_add(table, "%s", compare->setups[comparison->setup].name);
    cw_table_add(table, "%s", compare->setups[comparison->reference].name);
    cw_table_add_estimate(table, comparison->percent);
    cw_table_add(table, "%s", cw_verdict_text(comparison->verdict));
    cw_table_add_p(table, comparison->p_value);
    cw_table_add_p(table, comparison->p_adjusted);
    cw_table_add_number(table, comparison->smallest_detectable_percent, 1);
}

/* What a comparison means, a quantity with its error to a pair of columns; run-outs only where runs
 * were left to roll out. */
enum { MEANINGS = 4, MEANING_COLUMNS = 2 + 2 * MEANINGS + 1 };

static const char *const meaning_units[MEANINGS] = {"m²", "s", "m", "W"};

static struct cw_estimate meaning_of(const struct cw_comparison *comparison, enum cw_units units,
                                     size_t i) {
    const struct cw_estimate meanings[MEANINGS] = {
        comparison->difference_m2, comparison->time_over_road_s, comparison->runout_m,
        cw_fast_watts(comparison, units)};
    return meanings[i];
}

static bool any_means(const struct cw_compare *compare, enum cw_units units, size_t i) {
    for (size_t c = 0; c < compare->n_comparisons; c++)
        if (isfinite(meaning_of(&compare->comparisons[c], units, i).value)) return true;
    return false;
}

static void add_meanings(const struct cw_page *page, const struct cw_compare *compare,
                         struct cw_text *text) {
    struct cw_column columns[MEANING_COLUMNS] = {{"setup", "", false}, {"against", "", false}};
    struct cw_table table = {.columns = columns, .n_columns = 2, .units = page->units};
    char watts[16];
    cw_print(watts, sizeof watts, "at %s", cw_fast_text(page->units));
    const char *const names[MEANINGS] = {"CdA", "time", "run-out", watts};
    for (size_t i = 0; i < MEANINGS; i++) {
        if (!any_means(compare, page->units, i)) continue;
        columns[table.n_columns++] = (struct cw_column){names[i], meaning_units[i], true};
        columns[table.n_columns++] = (struct cw_column){"±", meaning_units[i], true};
    }
    columns[table.n_columns++] = (struct cw_column){"wind that would", "m/s", true};
    for (size_t c = 0; c < compare->n_comparisons; c++) {
        const struct cw_comparison *comparison = &compare->comparisons[c];
        cw_table_add(&table, "%s", compare->setups[comparison->setup].name);
        cw_table_add(&table, "%s", compare->setups[comparison->reference].name);
        for (size_t i = 0; i < MEANINGS; i++) {
            const struct cw_estimate means = meaning_of(comparison, page->units, i);
            int decimals = cw_error_decimals(means.standard_error);
            if (!any_means(compare, page->units, i)) continue;
            cw_table_add_number(&table, means.value, decimals);
            cw_table_add_number(&table, means.standard_error, decimals);
        }
        cw_table_add_number(&table, comparison->wind_to_explain_ms, 2);
    }
    cw_page_add_table(&table, "table-meanings", 0, "What the differences mean", NULL, text);
    cw_text_add(text,
                "<p class=\"soft\">Time and run-out are the model's, as in the answer: over this "
                "road, from the runs' mean entry "
                "speed, in still air. Watts: on the flat, drag and tyres. The wind is the steady "
                "headwind that would do the same if it blew in the one setup's runs "
                "only.</p>\n");
}

static void add_rolling(const struct cw_page *page, const struct cw_compare *compare,
                        struct cw_text *text) {
    static const struct cw_column columns[] = {CW_ROLLING_COLUMNS}, forces[] = {CW_FORCE_COLUMNS};
    struct cw_table table = {COLUMNS(columns), .units = page->units},
                    sums = {COLUMNS(forces), .units = page->units};
    cw_rolling_rows_add(compare, &table);
    cw_force_rows_add(compare, &sums);
    cw_page_add_table(&table, "table-rolling", 0, "Rolling, of setups on different tyres", NULL,
                      text);
    if (!sums.n_cells) {
        cw_table_free(&sums);
        return;
    }
    cw_page_add_table(&sums, "table-forces", 0, "Drag and rolling together, at a steady speed",
                      NULL, text);
    cw_text_add(text,
                "<p class=\"soft\">On the flat in still air, each setup with its own load. "
                "What one has too much of drag and rolling the other has too little, so their "
                "sum is known better than either.</p>\n");
}

void cw_page_add_comparisons(const struct cw_page *page, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    static const struct cw_column columns[] = {
        {"setup", "", false},       {"against", "", false}, ESTIMATE("difference", "%"),
        {"its drag is", "", false}, {"p", "", true},        {"p adjusted", "", true},
        {"would show", "%", true}};
    const struct cw_compare *compare = cw_analysis_compared(analysis);
    struct cw_table table = {COLUMNS(columns), .units = page->units};
    if (!compare || !compare->n_comparisons) {
        cw_text_add(text, "<p>There are no two setups to compare.</p>\n");
        return;
    }
    for (size_t i = 0; i < compare->n_comparisons; i++)
        if (!compare->comparisons[i].drag_said) add_difference_row(compare, i, &table);
    cw_page_add_table(&table, "table-comparisons", 0, "Drag, setup against setup", NULL, text);
    cw_text_add(text, "<p class=\"soft\">\u201cWould show\u201d is the smallest difference that "
                      "these runs show four times in five.</p>\n");
    if (cw_rolling_any(compare)) add_rolling(page, compare, text);
    add_meanings(page, compare, text);
}

/* ---- runs ---- */

/* How the pictures name a run in data-run. */
typedef char run_key[48];

/* What matters comes first, so that a narrow screen shows it: what came of the run, then how it
 * was.
 */
static void add_run(const struct cw_analysed *of, size_t i, const struct cw_estimate *cda_m2,
                    const struct cw_clock *clock, struct cw_table *table) {
    const struct cw_run *run = &of->runs.at[i];
    cw_table_add(table, "%ld", run->number);
    if (run->kept) {
        cw_table_add_name(table, cw_analysed_setup(of, run->setup));
        cw_table_add_estimate(table, *cda_m2);
    } else {
        cw_table_add_reasons(table, run->reasons);
    }
    cw_run_extent_add(table, run);
    cw_run_speeds_add(table, run);
    if (of->n_recordings > 1) cw_table_add(table, "%zu", run->recording + 1);
    cw_table_add_clock(table, clock, run->start_s, true);
}

static size_t run_columns(const struct cw_analysed *of, bool kept, const struct cw_clock *clock,
                          struct cw_column columns[20]) {
    static const struct cw_column came_of_it[] = {{"setup", "", false}, ESTIMATE("CdA", "m²")},
                                  as_it_was[] = {CW_RUN_EXTENT_COLUMNS, CW_RUN_SPEED_COLUMNS};
    size_t n = 0;
    columns[n++] = (struct cw_column){"run", "", false};
    if (kept) {
        memcpy(columns + n, came_of_it, sizeof came_of_it);
        n += sizeof came_of_it / sizeof *came_of_it;
    } else {
        columns[n++] = (struct cw_column){"turned down for", "", false};
    }
    memcpy(columns + n, as_it_was, sizeof as_it_was);
    n += sizeof as_it_was / sizeof *as_it_was;
    if (of->n_recordings > 1) columns[n++] = (struct cw_column){"recording", "", true};
    columns[n++] = (struct cw_column){"start", clock->name, true};
    return n;
}

static void add_kept(const struct cw_page *page, size_t outing, struct cw_text *text) {
    const struct cw_analysed *of = &page->analysis->outings[outing];
    struct cw_column columns[20];
    const struct cw_clock clock = cw_clock_of(of);
    struct cw_table table = {.columns = columns,
                             .n_columns = run_columns(of, true, &clock, columns),
                             .units = page->units};
    size_t n = of->fit.n_runs;
    run_key *keys = calloc(n + 1, sizeof *keys);
    const char **runs = calloc(n + 1, sizeof *runs);
    if (!keys || !runs) text->failed = true;
    for (size_t i = 0; keys && runs && i < n; i++) {
        const struct cw_fit_run *run = &of->fit.runs[i];
        cw_print(keys[i], sizeof keys[i], "%zu.%ld", outing + 1, of->runs.at[run->run].number);
        runs[i] = keys[i];
        struct cw_estimate cda_m2 =
            cw_estimate_where(run->together_identifiable, run->together_cda_m2);
        add_run(of, run->run, &cda_m2, &clock, &table);
    }
    cw_page_add_table(&table, "table-runs", outing, "Runs kept, with CdA from all runs together",
                      runs, text);
    free(runs);
    free(keys);
}

/* What anybody else saw of them stands beside. */
static void add_winds(const struct cw_page *page, size_t outing, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    struct cw_column columns[CW_WIND_COLUMNS_MOST];
    struct cw_table table = {.units = page->units};
    if (!analysis->compared) return;
    const struct cw_clock clock = cw_clock_of(&analysis->outings[outing]);
    cw_winds_rows(analysis, outing, "±", &clock, columns, &table);
    columns[0].right = false; /* it heads the row */
    if (table.n_cells)
        cw_page_add_table(
            &table, "table-winds", outing,
            "Winds along the road (+ is a headwind), and how well each is known beside the "
            "others",
            NULL, text);
    cw_table_free(&table);
}

static void add_turned_down(const struct cw_page *page, size_t outing, struct cw_text *text) {
    const struct cw_analysed *of = &page->analysis->outings[outing];
    struct cw_column columns[20];
    const struct cw_clock clock = cw_clock_of(of);
    struct cw_table table = {.columns = columns,
                             .n_columns = run_columns(of, false, &clock, columns),
                             .units = page->units};
    for (size_t i = 0; i < of->runs.n; i++) {
        if (of->runs.at[i].kept) continue;
        add_run(of, i, NULL, &clock, &table);
    }
    if (table.n_cells)
        cw_page_add_table(&table, "table-turned-down", outing, "Turned down, and why", NULL, text);
    else
        cw_text_add(text, "<p>Nothing that looked like a run was turned down.</p>\n");
    cw_table_free(&table);
}

static void add_recordings(const struct cw_analysed *of, struct cw_text *text) {
    if (of->n_recordings < 2) return;
    cw_text_add(text, "<p>Recordings, by number:</p>\n<ol>\n");
    for (size_t i = 0; i < of->n_recordings; i++) {
        cw_text_add(text, "<li>");
        cw_markup_add_name(text, of->recordings[i].file);
        cw_text_add(text, "</li>\n");
    }
    cw_text_add(text, "</ol>\n");
}

void cw_page_add_runs(const struct cw_page *page, size_t outing, struct cw_text *text) {
    const struct cw_analysed *of = &page->analysis->outings[outing];
    add_kept(page, outing, text);
    add_winds(page, outing, text);
    add_turned_down(page, outing, text);
    add_recordings(of, text);
}

/* ---- as measured ---- */

static void add_timed_runs(const struct cw_page *page, size_t outing, struct cw_text *text) {
    const struct cw_analysed *of = &page->analysis->outings[outing];
    const struct cw_timed *timed = &of->timed;
    struct cw_timed_columns columns = {0};
    struct cw_table table = {.units = page->units};
    char caption[128];
    cw_timed_runs_add(of, "±", &columns, &table);
    columns.at[0].right = false; /* it heads the row */
    cw_print(caption, sizeof caption, "Times from the gate at %.0f m to the gate at %.0f m",
             timed->gates_m[0], timed->gates_m[timed->n_gates - 1]);
    cw_page_add_table(&table, "table-timed", outing, caption, NULL, text);
    struct cw_sentences said = {0};
    cw_sentences_add(&said,
                     "these are the clock's seconds, from gate to gate, each run from the speed "
                     "it came with; the answer's are the model's, over the whole road, from "
                     "one and the same entry speed in still air");
    cw_timed_noted_said(of, &said);
    for (size_t i = 0; i < timed->warnings.n; i++) {
        char warning[CW_WARNING_TEXT];
        cw_warning_text(&timed->warnings.at[i], false, warning);
        cw_sentences_add(&said, "%s", warning);
    }
    cw_page_add_sentences(&said, text);
}

static void add_timed_differences(const struct cw_page *page, size_t outing, struct cw_text *text) {
    const struct cw_analysed *of = &page->analysis->outings[outing];
    struct cw_column columns[CW_TIMED_DIFFERENCE_COLUMNS];
    struct cw_table table = {.columns = columns, .units = page->units};
    cw_timed_differences_add(of, true, columns, &table);
    if (table.n_cells)
        cw_page_add_table(&table, "table-timed-differences", outing,
                          "Setup against setup, by nothing but the scatter of the runs", NULL,
                          text);
    cw_table_free(&table);
}

static void add_timed_steps(const struct cw_page *page, size_t outing, struct cw_text *text) {
    const struct cw_analysed *of = &page->analysis->outings[outing];
    bool pairs = of->timed.steps[0].pairs;
    struct cw_table table = {.columns = cw_timed_step_columns[pairs],
                             .n_columns = CW_TIMED_STEP_COLUMNS,
                             .units = page->units};
    cw_timed_steps_add(of, &table);
    cw_page_add_table(
        &table, "table-timed-steps", outing,
        pairs ? "From one speed down to the next: harmonic means of pairs of runs in opposite "
                "directions; precision is by the coast-down standards, which ask for "
                "3 %; force: that of the force that slows the setup down there, as compared"
              : "From one speed down to the next: harmonic means of runs; precision is "
                "by the coast-down standards, which ask for 3 %; force: that of the force that "
                "slows the setup down there, as compared",
        NULL, text);
}

void cw_page_add_timed(const struct cw_page *page, size_t outing, struct cw_text *text) {
    const struct cw_analysed *of = &page->analysis->outings[outing];
    if (of->timed.n) {
        add_timed_runs(page, outing, text);
        add_timed_differences(page, outing, text);
        if (of->timed.n_steps) add_timed_steps(page, outing, text);
    } else {
        cw_text_add(text, "<p>Not timed: ");
        cw_markup_add(text, of->untimed);
        cw_text_add(text, ".</p>\n");
    }
}

/* ---- what disturbs ---- */

/* Beside what the runs cannot show, what they do. */
static void add_noise_row(const struct cw_compare *compare, struct cw_table *table) {
    cw_table_add(table, CW_BUDGET_NOISE);
    cw_table_add(table, "%s", "");
    cw_table_add_number(table, compare->noise_percent, CW_BUDGET_DECIMALS);
    cw_table_add(table, "%s", "");
    if (compare->n_comparisons)
        cw_table_add_number(table, compare->comparisons[0].noise_percent, CW_BUDGET_DECIMALS);
}

void cw_page_add_budget(const struct cw_page *page, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    static const struct cw_column columns[] = {{"cause", "", false},
                                               {"off by", "", true},
                                               {"CdA", "%", true},
                                               {"Crr", "", true},
                                               {"difference", "%", true}};
    static const struct cw_look look = {.utf8 = true};
    const struct cw_compare *compare = cw_analysis_compared(analysis);
    const struct cw_signs sign = cw_signs_of(&look);
    struct cw_table table = {COLUMNS(columns), .units = page->units};
    struct cw_text caption = {0};
    if (!compare || !compare->n_causes) {
        cw_text_add(text, "<p>No setup to take the budget of.</p>\n");
        return;
    }
    bool pair = compare->n_comparisons > 0;
    table.n_columns -= !pair;
    cw_budget_rows(compare, &sign, &table);
    add_noise_row(compare, &table);
    cw_text_add(&caption, "What causes that no scatter shows do to CdA and Crr%s%s",
                analysis->n > 1 ? " in the outing ridden first" : "",
                pair ? ", and to the first difference" : "");
    cw_page_add_table(&table, "table-budget", 0, caption.bytes ? caption.bytes : "", NULL, text);
    if (caption.failed) text->failed = true;
    cw_text_free(&caption);
}

void cw_page_add_noise(const struct cw_page *page, size_t outing, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    static const struct cw_column columns[] = {{"standard deviation of", "", false},
                                               {"found", "", true},
                                               {"95 % from", "", true},
                                               {"to", "", true}};
    struct cw_table table = {COLUMNS(columns), .units = page->units};
    cw_noise_rows(&analysis->outings[outing], &table);
    cw_page_add_table(&table, "table-noise", outing, "Noise, as the runs themselves show it", NULL,
                      text);
}

/* ---- where the differences came from ---- */

static void add_explanation(const struct cw_page *page, const struct cw_explanation *explanation,
                            size_t outing, size_t k, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    struct cw_sentences said = {0};
    cw_explain_said(analysis, explanation, page->units, &said);
    cw_page_add_sentences(&said, text);
    if (!explanation->of[CW_EXPLAINED_TIME].told) return;
    for (int halves = 0; halves < 2; halves++) {
        struct cw_explain_columns columns;
        struct cw_table table = {.units = page->units};
        struct cw_text head = {0}, caption = {0};
        char id[40];
        if (halves && !cw_explain_has_halves(explanation)) continue;
        cw_explain_rows_add(explanation, halves, &columns, &table);
        cw_explain_head_add(analysis, explanation, &head);
        if (halves) cw_text_add(&head, ": on the way down, and on the far side");
        if (head.bytes) cw_markup_add(&caption, head.bytes);
        cw_print(id, sizeof id, "table-%s-%zu", halves ? "halves" : "explained", k + 1);
        cw_page_add_table(&table, id, outing, caption.bytes ? caption.bytes : "", NULL, text);
        text->failed |= head.failed || caption.failed;
        cw_text_free(&head);
        cw_text_free(&caption);
    }
}

void cw_page_add_explained(const struct cw_page *page, size_t outing, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    const struct cw_explained *explained = &analysis->outings[outing].explained;
    struct cw_sentences method = {0};
    if (!analysis->compared || !explained->n) {
        cw_text_add(text, "<p class=\"soft\">There are no two setups with timed runs whose "
                          "difference could be divided among its causes.</p>\n");
        return;
    }
    for (size_t k = 0; k < explained->n; k++)
        add_explanation(page, &explained->at[k], outing, k, text);
    cw_explain_method_said(&method);
    cw_page_add_sentences(&method, text);
}
