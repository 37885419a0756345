#include "report/timed_report.h"

#include <math.h>

#include "base/print.h"
#include "base/utf8.h"
#include "base/warning.h"
#include "report/csv.h"
#include "report/plain.h"
#include "report/table.h"
#include "report/timed_facts.h"

static void runs_table(const struct cw_analysed *of, const struct cw_look *look,
                       struct cw_text *out) {
    struct cw_timed_columns columns = {0};
    struct cw_table table = {.units = look->units};
    cw_timed_runs_add(of, cw_signs_of(look).plus_minus, &columns, &table);
    cw_table_write(&table, look, out);
    cw_table_free(&table);
}

/* A setup's mean and scatter of a quantity, with the coast-down standards' precision of a time. */
static void setups_columns(const struct cw_column *column, bool time, struct cw_column *columns,
                           size_t *n) {
    columns[(*n)++] = *column;
    columns[(*n)++] = (struct cw_column){"sd", column->unit, true};
    if (time) columns[(*n)++] = (struct cw_column){"precision", "%", true};
}

static void setups_table(const struct cw_analysed *of, const struct cw_look *look,
                         struct cw_text *out) {
    static const struct {
        enum cw_timed_quantity quantity;
        struct cw_column column;
        bool time;
    } all[] = {{CW_TIMED_TIME_WATCHED, {"stopwatch", "s", true}, true},
               {CW_TIMED_TIME, {"time", "s", true}, true},
               {CW_TIMED_ENTRY_SPEED, {"entry", "km/h", true}, false},
               {CW_TIMED_RUNOUT_TAPED, {"tape", "m", true}, false},
               {CW_TIMED_RUNOUT, {"run-out", "m", true}, false}};
    const struct cw_timed *timed = &of->timed;
    struct cw_column columns[2 + 3 * CW_TIMED_QUANTITIES] = {{"setup", "", false},
                                                             {"runs", "", true}};
    struct cw_table table = {.columns = columns, .n_columns = 2, .units = look->units};
    bool shown[CW_TIMED_QUANTITIES];
    for (size_t q = 0; q < CW_TIMED_QUANTITIES; q++) {
        bool always = all[q].quantity == CW_TIMED_TIME || all[q].quantity == CW_TIMED_ENTRY_SPEED;
        shown[q] = always || cw_timed_has(timed, all[q].quantity);
        if (shown[q]) setups_columns(&all[q].column, all[q].time, columns, &table.n_columns);
    }
    for (size_t i = 0; i < timed->n_setups; i++) {
        const struct cw_timed_setup *setup = &timed->setups[i];
        cw_table_add_name(&table, cw_analysed_setup(of, setup->setup));
        cw_table_add(&table, "%zu", setup->of[CW_TIMED_TIME].n);
        for (size_t q = 0; q < CW_TIMED_QUANTITIES; q++) {
            const struct cw_timed_group *group = &setup->of[all[q].quantity];
            if (!shown[q]) continue;
            if (all[q].quantity == CW_TIMED_ENTRY_SPEED) {
                cw_table_add_kmh(&table, group->mean);
                cw_table_add_kmh(&table, group->sd);
                continue;
            }
            cw_table_add_number(&table, group->mean, cw_timed_shown_as(all[q].quantity).decimals);
            cw_table_add_number(&table, group->sd, cw_timed_shown_as(all[q].quantity).decimals);
            if (all[q].time) cw_table_add_number(&table, 100 * group->precision, 1);
        }
    }
    cw_text_add(out, "\n");
    cw_wrapped_add(
        out,
        "By setup: means and the scatter (sd) from run to run; precision is the coast-down "
        "standards' of the mean time",
        look, 0);
    cw_table_write(&table, look, out);
    cw_table_free(&table);
}

/* Asked for are 3 %: UN GTR 15, Annex 4, from memory. */
static void steps_table(const struct cw_analysed *of, const struct cw_look *look,
                        struct cw_text *out) {
    const struct cw_timed *timed = &of->timed;
    bool pairs = timed->steps[0].pairs;
    struct cw_table table = {.columns = cw_timed_step_columns[pairs],
                             .n_columns = CW_TIMED_STEP_COLUMNS,
                             .units = look->units};
    char said[512];
    cw_print(said, sizeof said,
             "By speed: the time from one speed down to the next, as the harmonic mean of %s; its "
             "precision by the coast-down standards, which ask for 3 %%; force: that of the "
             "force that slows the setup down there, as compared above",
             pairs ? "pairs of runs in opposite directions" : "runs");
    cw_text_add(out, "\n");
    cw_wrapped_add(out, said, look, 0);
    cw_timed_steps_add(of, &table);
    cw_table_write(&table, look, out);
    cw_table_free(&table);
}

static void differences_table(const struct cw_analysed *of, bool all, const struct cw_look *look,
                              struct cw_text *out) {
    struct cw_column columns[CW_TIMED_DIFFERENCE_COLUMNS];
    struct cw_table table = {.columns = columns, .keys = 3, .units = look->units};
    cw_timed_differences_add(of, all, columns, &table);
    if (table.n_cells) {
        if (all) cw_text_add(out, "\nDifferences\n");
        cw_table_write(&table, look, out);
    }
    cw_table_free(&table);
}

/* What entry speed may have done to the times. */
static void say_entry(const struct cw_analysed *of, const struct cw_look *look,
                      struct cw_text *out) {
    const struct cw_timed *timed = &of->timed;
    const struct cw_timed_entry *entry = &timed->entry;
    struct cw_sentences said = {0};
    for (size_t i = 0; i < timed->n_comparisons; i++) {
        const struct cw_timed_comparison *c = &timed->comparisons[i];
        double speed_ms = c->of[CW_TIMED_ENTRY_SPEED].difference.value;
        if (isnan(c->time_by_entry_s.value)) continue;
        cw_sentences_add(&said,
                         "%s came to the first gate %.2f km/h %s than %s, which alone makes at "
                         "most %.2f s; drag leaves less of it",
                         cw_analysed_setup(of, c->setup), fabs(speed_ms) * CW_KMH_PER_MS,
                         speed_ms < 0 ? "slower" : "faster", cw_analysed_setup(of, c->reference),
                         c->time_by_entry_s.value);
    }
    if (!isnan(entry->correlation))
        cw_sentences_add(&said,
                         "within setups, a run that came 1 km/h faster took %.2f s %s (95 %%: %.2f "
                         "to %.2f s, correlation %.2f)",
                         fabs(entry->slope_sms.value) / CW_KMH_PER_MS,
                         entry->slope_sms.value < 0 ? "less" : "more",
                         entry->slope_sms.low / CW_KMH_PER_MS,
                         entry->slope_sms.high / CW_KMH_PER_MS, entry->correlation);
    cw_sentences_items(&said, look, out);
}

/* A run's times, one by one, and what they are by setup and by speed. */
static void each_run(const struct cw_analysed *of, const struct cw_look *look,
                     struct cw_text *out) {
    const struct cw_timed *timed = &of->timed;
    struct cw_sentences noted = {0};
    struct cw_text place = {0};
    runs_table(of, look, out);
    cw_timed_noted_said(of, &noted);
    if (timed->n > 1 && isfinite(timed->shift_sd_m)) /* one run shows no more than the least */
        cw_text_add(&place,
                    "± is the timing's own standard error. A run's place %s is known to %.1f m, "
                    "the same at all its gates: between two "
                    "passed at one speed that cancels",
                    timed->from_mark ? "from the mark" : "on the road", timed->shift_sd_m);
    cw_wrapped_take(out, &place, look, 0);
    cw_sentences_write(&noted, look, out);
    if (timed->n_setups) setups_table(of, look, out);
    if (timed->n_steps) steps_table(of, look, out);
}

enum cw_status cw_report_timed_table(const struct cw_analysed *of, bool all,
                                     const struct cw_look *look, struct cw_text *out,
                                     struct cw_error *error) {
    const struct cw_timed *timed = &of->timed;
    struct cw_text head = {0};
    struct cw_sentences warnings = {0};
    cw_text_add(
        &head, "As measured, with no model: between the gates at %.0f and %.0f m of %.0f m of road",
        timed->gates_m[0], timed->gates_m[timed->n_gates - 1], timed->length_m);
    cw_wrapped_take(out, &head, look, 0);
    if (all) each_run(of, look, out);
    differences_table(of, all, look, out);
    if (all) say_entry(of, look, out);
    for (size_t i = 0; i < timed->warnings.n; i++) {
        char text[CW_WARNING_TEXT];
        cw_warning_text(&timed->warnings.at[i], false, text);
        cw_sentences_add(&warnings, "%s", text);
    }
    cw_sentences_items(&warnings, look, out);
    return out->failed ? cw_error_memory(error) : CW_OK;
}

/* ---- CSV: a line a run and gate ---- */

enum cw_status cw_report_timed_csv(const struct cw_analysis *analysis, struct cw_text *out,
                                   struct cw_error *error) {
    static const char *const heads[] = {"outing", "number", "setup",   "gate",
                                        "gate_m", "time_s", "speed_ms"};
    struct cw_csv csv = {.out = out};
    cw_csv_add_heads(&csv, heads, sizeof heads / sizeof *heads);
    for (size_t o = 0; o < analysis->n; o++) {
        const struct cw_analysed *of = &analysis->outings[o];
        const struct cw_timed *timed = &of->timed;
        for (size_t k = 0; k < timed->n; k++)
            for (size_t g = 0; g < timed->n_gates; g++) {
                const struct cw_timed_run *run = &timed->runs[k];
                cw_csv_add(&csv, of->outing.name);
                cw_csv_add_number(&csv, (double)of->runs.at[run->run].number);
                cw_csv_add(&csv, cw_analysed_setup(of, run->setup));
                cw_csv_add_number(&csv, (double)g + 1);
                cw_csv_add_number(&csv, timed->gates_m[g]);
                cw_csv_add_number(&csv, run->at[g].time_s - run->at[0].time_s);
                cw_csv_add_number(&csv, run->at[g].speed_ms);
                cw_csv_end_row(&csv);
            }
    }
    return out->failed ? cw_error_memory(error) : CW_OK;
}
