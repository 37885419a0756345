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

static void setups_table(const struct cw_analysed *of, struct cw_text *out) {
    static const struct cw_column columns[] = {
        {"setup", "", false}, {"runs", "", true},     {"time", "s", true},
        {"sd", "s", true},    {"p", "%", true},       {"entry", "km/h", true},
        {"sd", "km/h", true}, {"run-out", "m", true}, {"sd", "m", true}};
    const struct cw_timed *timed = &of->timed;
    bool runout = cw_timed_has_runout(timed);
    struct cw_table table = {.columns = columns, .n_columns = runout ? 9 : 7};
    for (size_t i = 0; i < timed->n_setups; i++) {
        const struct cw_timed_setup *setup = &timed->setups[i];
        const struct cw_timed_group *time = &setup->of[CW_TIMED_TIME];
        const struct cw_timed_group *entry = &setup->of[CW_TIMED_ENTRY_SPEED];
        cw_table_add_name(&table, cw_analysed_setup(of, setup->setup));
        cw_table_add(&table, "%zu", time->n);
        cw_table_add_number(&table, time->mean, 2);
        cw_table_add_number(&table, time->sd, 2);
        cw_table_add_number(&table, 100 * time->precision, 1);
        cw_table_add_kmh(&table, entry->mean);
        cw_table_add_kmh(&table, entry->sd);
        if (!runout) continue;
        cw_table_add_number(&table, setup->of[CW_TIMED_RUNOUT].mean, 1);
        cw_table_add_number(&table, setup->of[CW_TIMED_RUNOUT].sd, 1);
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
    cw_text_add(out,
                "As measured, with no model: from the gate at %.0f m to that at %.0f m of a "
                "road of %.0f m\n",
                timed->gates_m[0], timed->gates_m[timed->n_gates - 1], timed->length_m);
    runs_table(of, look, out);
    if (timed->n > 1 && isfinite(timed->shift_sd_m)) /* one run shows no more than the least */
        cw_text_add(out,
                    "%s is the timing's own standard error. A run's place on the road is known to "
                    "%.1f m,\nthe same at all its gates: between two passed at one speed that "
                    "cancels.\n",
                    cw_signs_of(look).plus_minus, timed->shift_sd_m);
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
