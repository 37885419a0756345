#include "report/timed_report.h"

#include <math.h>

#include "base/print.h"
#include "base/utf8.h"
#include "base/warning.h"
#include "report/plain.h"
#include "report/table.h"
#include "report/timed_facts.h"

static void runs_table(const struct cw_analysed *of, const struct cw_look *look,
                       struct cw_text *out) {
    struct cw_timed_columns columns = {0};
    struct cw_table table = {0};
    cw_timed_runs_add(of, cw_signs_of(look).plus_minus, &columns, &table);
    cw_table_write(&table, out);
    cw_table_free(&table);
}

/* A setup's mean and scatter of a quantity, with the coast-down standards' p of a time. */
static void setups_columns(const struct cw_column *column, bool time, struct cw_column *columns,
                           size_t *n) {
    columns[(*n)++] = *column;
    columns[(*n)++] = (struct cw_column){"sd", column->unit, true};
    if (time) columns[(*n)++] = (struct cw_column){"p", "%", true};
}

static void setups_table(const struct cw_analysed *of, struct cw_text *out) {
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
    struct cw_table table = {.columns = columns, .n_columns = 2};
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
    cw_text_add(out, "\nBy setup: means and the scatter (sd) from run to run; p is the coast-down "
                     "standards'\nprecision of the mean time\n");
    cw_table_write(&table, out);
    cw_table_free(&table);
}

/* Asked for are 3 %: UN GTR 15, Annex 4, from memory. */
static void steps_table(const struct cw_analysed *of, const struct cw_look *look,
                        struct cw_text *out) {
    const struct cw_timed *timed = &of->timed;
    bool pairs = timed->steps[0].pairs;
    struct cw_table table = {.columns = cw_timed_step_columns[pairs],
                             .n_columns = CW_TIMED_STEP_COLUMNS};
    char said[512];
    cw_print(said, sizeof said,
             "By speed: the time from one speed down to the next, as the harmonic mean of %s; p is "
             "its precision by the coast-down standards, which ask for 3 %%; force: that of the "
             "force that slows the setup down there, as compared above",
             pairs ? "pairs of runs in opposite directions" : "runs");
    cw_text_add(out, "\n");
    cw_wrapped_add(out, said, look, 0);
    cw_timed_steps_add(of, &table);
    cw_table_write(&table, out);
    cw_table_free(&table);
}

static void differences_table(const struct cw_analysed *of, struct cw_text *out) {
    static const struct cw_column columns[CW_TIMED_DIFFERENCE_COLUMNS] = {
        {"setup", "", false}, {"minus", "", false},    {"", "", false},  {"difference", "", true},
        {"", "", false},      {"95 % from", "", true}, {"to", "", true}, {"%", "", true},
        {"p", "", true},      {"test", "", false},     {"", "", false}};
    struct cw_table table = {.columns = columns, .n_columns = CW_TIMED_DIFFERENCE_COLUMNS};
    cw_timed_differences_add(of, &table);
    if (table.n_cells) {
        cw_text_add(out, "\nDifferences\n");
        cw_table_write(&table, out);
    }
    cw_table_free(&table);
}

/* What entry speed may have done to the times. */
static void say_entry(const struct cw_analysed *of, struct cw_text *out) {
    const struct cw_timed *timed = &of->timed;
    const struct cw_timed_entry *entry = &timed->entry;
    for (size_t i = 0; i < timed->n_comparisons; i++) {
        const struct cw_timed_comparison *c = &timed->comparisons[i];
        double speed_ms = c->of[CW_TIMED_ENTRY_SPEED].difference.value;
        if (isnan(c->time_by_entry_s.value)) continue;
        cw_text_add(out, "- ");
        cw_utf8_add_shown(out, cw_analysed_setup(of, c->setup));
        cw_text_add(out, " came to the first gate %.2f km/h %s than ",
                    fabs(speed_ms) * CW_KMH_PER_MS, speed_ms < 0 ? "slower" : "faster");
        cw_utf8_add_shown(out, cw_analysed_setup(of, c->reference));
        cw_text_add(out, ", which alone makes at most %.2f s;\n  drag leaves less of it\n",
                    c->time_by_entry_s.value);
    }
    if (isnan(entry->correlation)) return;
    cw_text_add(out,
                "- within setups, a run that came 1 km/h faster took %.2f s %s (95 %%: %.2f to "
                "%.2f s,\n  correlation %.2f, p %.3f)\n",
                fabs(entry->slope_sms.value) / CW_KMH_PER_MS,
                entry->slope_sms.value < 0 ? "less" : "more", entry->slope_sms.low / CW_KMH_PER_MS,
                entry->slope_sms.high / CW_KMH_PER_MS, entry->correlation, entry->p_value);
}

enum cw_status cw_report_timed_table(const struct cw_analysed *of, const struct cw_look *look,
                                     struct cw_text *out, struct cw_error *error) {
    const struct cw_timed *timed = &of->timed;
    struct cw_sentences noted = {0};
    cw_text_add(out,
                "As measured, with no model: from the gate at %.0f m to that at %.0f m of a "
                "road of %.0f m\n",
                timed->gates_m[0], timed->gates_m[timed->n_gates - 1], timed->length_m);
    runs_table(of, look, out);
    if (timed->n > 1 && isfinite(timed->shift_sd_m)) /* one run shows no more than the least */
        cw_text_add(out,
                    "%s is the timing's own standard error. A run's place %s is known to %.1f m,\n"
                    "the same at all its gates: between two passed at one speed that cancels.\n",
                    cw_signs_of(look).plus_minus,
                    timed->from_mark ? "from the mark" : "on the road", timed->shift_sd_m);
    cw_timed_noted_said(of, &noted);
    cw_sentences_write(&noted, look, out);
    if (timed->n_setups) setups_table(of, out);
    if (timed->n_steps) steps_table(of, look, out);
    differences_table(of, out);
    say_entry(of, out);
    for (size_t i = 0; i < timed->warnings.n; i++) {
        char text[CW_WARNING_TEXT];
        cw_warning_text(&timed->warnings.at[i], false, text);
        cw_text_add(out, "- ");
        cw_utf8_add_shown(out, text);
        cw_text_add(out, "\n");
    }
    return out->failed ? cw_error_memory(error) : CW_OK;
}
