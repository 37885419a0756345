#include "report/timed_facts.h"

#include <math.h>

#include "base/print.h"
#include "report/estimates.h"

struct cw_timed_shown cw_timed_shown_as(enum cw_timed_quantity quantity) {
    static const struct cw_timed_shown shown[CW_TIMED_QUANTITIES] = {
        [CW_TIMED_TIME_WATCHED] = {"time by stopwatch", "s", 1, 2},
        [CW_TIMED_TIME] = {"time", "s", 1, 2},
        [CW_TIMED_RUNOUT_TAPED] = {"run-out by tape", "m", 1, 1},
        [CW_TIMED_RUNOUT] = {"run-out", "m", 1, 1},
        [CW_TIMED_ENTRY_SPEED] = {"entry", "km/h", CW_KMH_PER_MS, 2}};
    return shown[quantity];
}

bool cw_timed_has(const struct cw_timed *timed, enum cw_timed_quantity quantity) {
    for (size_t k = 0; k < timed->n; k++)
        if (isfinite(cw_timed_of(&timed->runs[k], quantity)->value)) return true;
    for (size_t i = 0; i < timed->n_doubts; i++)
        if (timed->doubts[i].quantity == quantity) return true;
    return false;
}

/* What was noted, with a "?" where it is doubted. */
static void add_noted(const struct cw_timed *timed, size_t at, enum cw_timed_quantity quantity,
                      struct cw_table *table) {
    int decimals = cw_timed_shown_as(quantity).decimals;
    for (size_t i = 0; i < timed->n_doubts; i++)
        if (timed->doubts[i].at == at && timed->doubts[i].quantity == quantity) {
            cw_table_add(table, "%.*f?", decimals, timed->doubts[i].noted);
            return;
        }
    cw_table_add_number(table, cw_timed_of(&timed->runs[at], quantity)->value, decimals);
}

void cw_timed_runs_add(const struct cw_analysed *of, const char *plus_minus,
                       struct cw_timed_columns *columns, struct cw_table *table) {
    const struct cw_timed *timed = &of->timed;
    bool runout = cw_timed_has(timed, CW_TIMED_RUNOUT);
    bool taped = cw_timed_has(timed, CW_TIMED_RUNOUT_TAPED);
    bool watched = cw_timed_has(timed, CW_TIMED_TIME_WATCHED);
    table->columns = columns->at;
    columns->at[table->n_columns++] = (struct cw_column){"run", "", true};
    columns->at[table->n_columns++] = (struct cw_column){"setup", "", false};
    if (watched) columns->at[table->n_columns++] = (struct cw_column){"stopwatch", "s", true};
    for (size_t g = 1; g + 1 < timed->n_gates; g++) {
        cw_print(columns->heads[g], sizeof columns->heads[g], "at %.0f m", timed->gates_m[g]);
        columns->at[table->n_columns++] = (struct cw_column){columns->heads[g], "s", true};
    }
    columns->at[table->n_columns++] = (struct cw_column){"time", "s", true};
    columns->at[table->n_columns++] = (struct cw_column){plus_minus, "s", true};
    columns->at[table->n_columns++] = (struct cw_column){"entry", "km/h", true};
    columns->at[table->n_columns++] = (struct cw_column){plus_minus, "km/h", true};
    columns->at[table->n_columns++] = (struct cw_column){"exit", "km/h", true};
    if (taped) columns->at[table->n_columns++] = (struct cw_column){"tape", "m", true};
    if (runout) {
        columns->at[table->n_columns++] = (struct cw_column){"run-out", "m", true};
        columns->at[table->n_columns++] = (struct cw_column){plus_minus, "m", true};
    }
    for (size_t k = 0; k < timed->n; k++) {
        const struct cw_timed_run *run = &timed->runs[k];
        cw_table_add(table, "%ld", of->runs.at[run->run].number);
        cw_table_add_name(table, cw_analysed_setup(of, run->setup));
        if (watched) add_noted(timed, k, CW_TIMED_TIME_WATCHED, table);
        for (size_t g = 1; g + 1 < timed->n_gates; g++)
            cw_table_add_number(table, run->at[g].time_s - run->at[0].time_s, 2);
        cw_table_add_number(table, run->time_s.value, 2);
        cw_table_add_number(table, run->time_s.standard_error, 2);
        cw_table_add_kmh(table, run->entry_speed_ms.value);
        cw_table_add_kmh(table, run->entry_speed_ms.standard_error);
        cw_table_add_kmh(table, run->exit_speed_ms.value);
        if (taped) add_noted(timed, k, CW_TIMED_RUNOUT_TAPED, table);
        if (!runout) continue;
        cw_table_add_number(table, run->runout_m.value, 1);
        cw_table_add_number(table, run->runout_m.standard_error, 1);
    }
}

void cw_timed_noted_said(const struct cw_analysed *of, struct cw_sentences *sentences) {
    static const struct {
        enum cw_timed_quantity quantity;
        const char *head, *name, *marks, *unit;
        int decimals;
    } all[] = {{CW_TIMED_TIME_WATCHED, "stopwatch", "time by stopwatch", "between marks", "s", 2},
               {CW_TIMED_RUNOUT_TAPED, "tape", "run-out by tape", "from a mark", "m", 2}};
    bool doubted = of->timed.n_doubts > 0;
    for (size_t q = 0; q < sizeof all / sizeof *all; q++) {
        if (!cw_timed_has(&of->timed, all[q].quantity)) continue;
        double known = all[q].quantity == CW_TIMED_TIME_WATCHED ? of->outing.time_s.uncertainty
                                                                : of->outing.runout_m.uncertainty;
        cw_sentences_add(sentences,
                         "%s: the %s as noted, %s of its own, so that only differences between "
                         "runs are like the recorder's; said to be known to %g %s",
                         all[q].head, all[q].name, all[q].marks, known, all[q].unit);
    }
    if (doubted)
        cw_sentences_add(sentences, "?: the recorder disagrees; left out until it is confirmed");
}

void cw_timed_doubts(const struct cw_analysed *of, struct cw_sentences *sentences) {
    for (size_t i = 0; i < of->timed.n_doubts; i++) {
        const struct cw_timed_doubt *doubt = &of->timed.doubts[i];
        struct cw_timed_shown shown = cw_timed_shown_as(doubt->quantity);
        bool watch = doubt->quantity == CW_TIMED_TIME_WATCHED;
        if (doubt->turned) {
            cw_sentences_add(sentences,
                             "runout_m goes down where the recorder's run-outs go up: is + further "
                             "along? All of it is left out until it is");
            break; /* a tape's are the last, and this is of all */
        }
        const char *by = watch ? "stopwatch" : "tape";
        struct cw_text text = {0};
        cw_text_add(&text,
                    "run %ld: %.10g %s by %s, %.*f %s by the recorder, which would be %.*f %s ± "
                    "%.*f by %s as the other runs have it: a mark mistaken, ",
                    of->runs.at[of->timed.runs[doubt->at].run].number, doubt->noted, shown.unit, by,
                    shown.decimals, doubt->recorded, shown.unit, shown.decimals,
                    doubt->recorded + doubt->others_off, shown.unit, shown.decimals,
                    doubt->others_sd, by);
        if (isfinite(doubt->swapped))
            cw_text_add(&text, "or two digits swapped (%.10g)?", doubt->swapped);
        else
            cw_text_add(&text, "or a digit?");
        cw_text_add(&text,
                    " It is left out: correct it in %s, put - for it, or give more "
                    "%s if it is right",
                    watch ? "time_s" : "runout_m",
                    watch ? "time_uncertainty_s" : "runout_uncertainty_m");
        cw_sentences_take(sentences, &text);
    }
}

static const char *judgement(const struct cw_timed_difference *difference) {
    if (difference->test == CW_TIMED_NO_TEST) return "too few runs";
    return difference->inside_scatter ? "inside scatter" : "beyond scatter";
}

void cw_timed_differences_add(const struct cw_analysed *of, bool all, struct cw_column *columns,
                              struct cw_table *table) {
    static const struct {
        struct cw_column column;
        bool always;
    } heads[CW_TIMED_DIFFERENCE_COLUMNS] = {
        {{"setup", "", false}, true},       {{"against", "", false}, true},
        {{"as measured", "", false}, true}, {{"difference", "", true}, true},
        {{"95 % from", "", true}, true},    {{"to", "", true}, true},
        {{"%", "", true}, false},           {{"p alone", "", true}, false},
        {{"test", "", false}, false},       {{"judged", "", false}, true}};
    const struct cw_timed *timed = &of->timed;
    for (size_t i = 0; i < CW_TIMED_DIFFERENCE_COLUMNS; i++)
        if (all || heads[i].always) columns[table->n_columns++] = heads[i].column;
    for (size_t i = 0; i < timed->n_comparisons; i++)
        for (enum cw_timed_quantity q = 0; q < CW_TIMED_QUANTITIES; q++) {
            const struct cw_timed_difference *d = &timed->comparisons[i].of[q];
            if (isnan(d->difference.value)) continue;
            struct cw_timed_shown shown = cw_timed_shown_as(q);
            cw_table_add_name(table, cw_analysed_setup(of, timed->comparisons[i].setup));
            cw_table_add_name(table, cw_analysed_setup(of, timed->comparisons[i].reference));
            cw_table_add_row_head(table, shown.name, shown.unit);
            cw_table_add_in(table, shown.factor * d->difference.value, shown.unit, shown.decimals);
            cw_table_add_in(table, shown.factor * d->difference.low, shown.unit, shown.decimals);
            cw_table_add_in(table, shown.factor * d->difference.high, shown.unit, shown.decimals);
            if (all) {
                cw_table_add_number(table, d->percent, 2);
                cw_table_add_p(table, d->p_value);
                cw_table_add(table, "%s", cw_timed_test_text(d->test));
            }
            cw_table_add(table, "%s", judgement(d));
        }
}

#define STEP_COLUMNS(number)                                                                       \
    {                                                                                              \
        {"setup", "", false}, {"from", "km/h", true}, {"to", "km/h", true}, {number, "", true},    \
            {"time", "s", true}, {"sd", "s", true}, {"precision", "%", true}, {                    \
            "force", "%", true                                                                     \
        }                                                                                          \
    }
const struct cw_column cw_timed_step_columns[2][CW_TIMED_STEP_COLUMNS] = {STEP_COLUMNS("runs"),
                                                                          STEP_COLUMNS("pairs")};

void cw_timed_steps_add(const struct cw_analysed *of, struct cw_table *table) {
    const struct cw_timed *timed = &of->timed;
    for (size_t i = 0; i < timed->n_steps; i++) {
        const struct cw_timed_step *step = &timed->steps[i];
        cw_table_add_name(table, cw_analysed_setup(of, step->setup));
        cw_table_add(table, "%.0f", CW_KMH_PER_MS * step->from_ms);
        cw_table_add(table, "%.0f", CW_KMH_PER_MS * step->to_ms);
        cw_table_add(table, "%zu", step->timing.n);
        cw_table_add_number(table, step->timing.mean_s, 2);
        cw_table_add_number(table, step->timing.sd_s, 2);
        cw_table_add_number(table, 100 * step->timing.precision, 1);
        cw_table_add_number(table, 100 * step->force_precision, 1);
    }
}
