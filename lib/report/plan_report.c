#include "report/plan_report.h"

#include <math.h>

#include "base/print.h"
#include "report/csv.h"
#include "report/plain.h"
#include "report/plan_facts.h"
#include "report/table.h"

/* Where the tables go, each as it is made. */
struct tables {
    enum cw_units units;
    cw_plan_table_taker *take;
    void *taker;
};

static void add_part(const char *title, struct cw_table *table, const struct tables *to) {
    to->take(to->taker, title, table);
    cw_table_free(table);
}

void cw_plan_head_add(const struct cw_plan *plan, const char *m2, struct cw_text *text) {
    const struct cw_plan_options *options = &plan->options;
    cw_text_add(
        text,
        "A road of %.0f m that drops %.1f m, %.1f %% at its steepest; %.1f kg, CdA %.3g %s, "
        "Crr %.4g. A run takes %.0f s.",
        plan->length_m, plan->drop_m, 100 * plan->steepest, options->mass_kg, options->cda_m2, m2,
        options->crr, plan->time_s);
}

static void add_needed(const struct cw_plan *plan, const struct tables *to) {
    static const struct cw_column columns[] = {
        {"found in", "of 100", true}, {"runs a setup", "", true}, {"least difference", "%", true}};
    struct cw_table table = {
        .columns = columns, .n_columns = sizeof columns / sizeof *columns, .units = to->units};
    for (size_t k = 0; k < CW_PLAN_POWERS; k++) {
        cw_table_add_number(&table, 100 * cw_plan_power(k), 0);
        cw_table_add_number(&table, plan->needed[k].runs, 0);
        cw_table_add_number(&table, plan->promise.smallest_percent[k], 2);
    }
    char title[160];
    cw_print(title, sizeof title,
             "How often the difference is found; the least difference is that of %zu runs a setup",
             plan->runs);
    add_part(title, &table, to);
}

static void add_order(const struct cw_plan *plan, const struct tables *to) {
    static const struct cw_column columns[] = {
        {"run", "", true}, {"setup", "", false}, {"coast begins at", "min", true}};
    struct cw_table table = {
        .columns = columns, .n_columns = sizeof columns / sizeof *columns, .units = to->units};
    for (size_t i = 0; i < plan->n_order; i++) {
        cw_table_add(&table, "%zu", i + 1);
        cw_table_add_name(&table, cw_plan_setup(plan, plan->order[i].setup));
        cw_table_add_number(&table, plan->order[i].start_s / 60, 1);
    }
    char title[120];
    if (plan->by_seed)
        cw_print(title, sizeof title,
                 "The order, drawn in blocks that hold each setup once (seed %lu)",
                 plan->options.seed);
    else
        cw_print(title, sizeof title,
                 "The order, balanced against a drift (nothing is drawn; seed %lu)",
                 plan->options.seed);
    add_part(title, &table, to);
}

static void add_run(const struct cw_plan *plan, const struct tables *to) {
    static const struct cw_column columns[] = {
        {"of one run", "", false}, {"standard error", "", true}, {"", "", false}};
    struct cw_table table = {
        .columns = columns, .n_columns = sizeof columns / sizeof *columns, .units = to->units};
    cw_table_add(&table, "CdA, alone");
    cw_table_add_number(&table, plan->alone_percent, 1);
    cw_table_add(&table, "%% of CdA%s", plan->alone_told ? "" : ", which it does not tell");
    cw_table_add(&table, "CdA, beside its fellows");
    cw_table_add_number(&table, plan->together_percent, 2);
    cw_table_add(&table, "%% of CdA");
    cw_table_add(&table, "Crr, alone");
    cw_table_add_number(&table, plan->alone_crr_error, 4);
    cw_table_add(&table, "correlation with CdA %.2f", plan->correlation);
    add_part("What one run tells", &table, to);
}

static void add_road(const struct cw_plan *plan, const struct tables *to) {
    static const struct cw_column part_columns[] = {
        {"from", "m", true}, {"to", "m", true}, {"of a difference", "%", true}};
    static const struct cw_column start_columns[] = {{"start", "km/h", true},
                                                     {"time", "s", true},
                                                     {"top speed", "km/h", true},
                                                     {"error of a run", "%", true}};
    struct cw_table parts = {.columns = part_columns,
                             .n_columns = sizeof part_columns / sizeof *part_columns,
                             .units = to->units};
    struct cw_table starts = {.columns = start_columns,
                              .n_columns = sizeof start_columns / sizeof *start_columns,
                              .units = to->units};
    for (size_t k = 0; k < CW_PLAN_PARTS; k++) {
        cw_table_add_number(&parts, plan->parts[k].from_m, 0);
        cw_table_add_number(&parts, plan->parts[k].to_m, 0);
        cw_table_add_number(&parts, 100 * plan->parts[k].share, 0);
    }
    add_part("Which part of the road tells how much", &parts, to);
    for (size_t k = 0; k < CW_PLAN_STARTS; k++) {
        const struct cw_plan_start *start = &plan->starts[k];
        cw_table_add_kmh(&starts, start->speed_ms);
        cw_table_add_number(&starts, start->time_s, 0);
        cw_table_add_kmh(&starts, start->top_speed_ms);
        cw_table_add_number(&starts, start->error_percent, 2);
    }
    add_part("From other speeds, in winds that do not differ", &starts, to);
}

static void add_winds(const struct cw_plan *plan, const struct tables *to) {
    static const struct cw_column columns[] = {{"winds differ by", "m/s", true},
                                               {"error of a run", "%", true},
                                               {"runs a setup", "", true}};
    struct cw_table table = {
        .columns = columns, .n_columns = sizeof columns / sizeof *columns, .units = to->units};
    for (size_t k = 0; k < CW_PLAN_WINDS; k++) {
        cw_table_add_number(&table, plan->winds[k].sd_ms, 1);
        cw_table_add_number(&table, plan->winds[k].error_percent, 1);
        if (isnan(plan->winds[k].runs))
            cw_table_add_name(&table, NULL);
        else
            cw_table_add(&table, "%s%.0f", plan->winds[k].sd_ms > 0 ? "about " : "",
                         plan->winds[k].runs);
    }
    add_part("In winds that differ from run to run (found in 80 of 100)", &table, to);
}

void cw_plan_tables(const struct cw_plan *plan, enum cw_units units, cw_plan_table_taker *take,
                    void *taker) {
    const struct tables to = {.units = units, .take = take, .taker = taker};
    if (!isnan(plan->options.difference_percent)) add_needed(plan, &to);
    add_order(plan, &to);
    add_run(plan, &to);
    add_road(plan, &to);
    if (!isnan(plan->options.difference_percent)) add_winds(plan, &to);
}

/* A terminal that tables are written to. */
struct terminal {
    const struct cw_look *look;
    struct cw_text *out;
};

static void write_table(void *taker, const char *title, const struct cw_table *table) {
    const struct terminal *to = taker;
    cw_text_add(to->out, "\n");
    cw_wrapped_add(to->out, title, to->look, 0);
    cw_table_write(table, to->look, to->out);
}

enum cw_status cw_report_plan_table(const struct cw_plan *plan, const struct cw_look *look,
                                    struct cw_text *out, struct cw_error *error) {
    struct cw_sentences cautions = {0}, answers = {0}, advice = {0}, defaults = {0};
    struct cw_text head = {0};
    struct terminal terminal = {look, out};
    cw_plan_cautions(plan, &cautions);
    cw_plan_answers(plan, &answers);
    cw_plan_advice(plan, &advice);
    cw_plan_defaults(plan, &defaults);
    cw_sentences_write(&cautions, look, out);
    cw_text_add(out, "\n");
    cw_plan_head_add(plan, cw_signs_of(look).m2, &head);
    cw_wrapped_take(out, &head, look, 0);
    cw_text_add(out, "\n");
    cw_sentences_write(&answers, look, out);
    cw_plan_tables(plan, look->units, write_table, &terminal);
    cw_sentences_list("What the road and the day let be told", &advice, look, out);
    cw_sentences_list("Taken for granted", &defaults, look, out);
    return out->failed ? cw_error_memory(error) : CW_OK;
}

enum cw_status cw_report_plan_csv(const struct cw_plan *plan, struct cw_text *out,
                                  struct cw_error *error) {
    static const char *const heads[] = {"run", "setup", "start_s"};
    struct cw_csv csv = {.out = out};
    cw_csv_add_heads(&csv, heads, sizeof heads / sizeof *heads);
    for (size_t i = 0; i < plan->n_order; i++) {
        cw_csv_add_number(&csv, (double)(i + 1));
        cw_csv_add(&csv, cw_plan_setup(plan, plan->order[i].setup));
        cw_csv_add_number(&csv, round(10 * plan->order[i].start_s) / 10);
        cw_csv_end_row(&csv);
    }
    return out->failed ? cw_error_memory(error) : CW_OK;
}
