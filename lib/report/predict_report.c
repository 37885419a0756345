#include "report/predict_report.h"

#include <math.h>

#include "report/csv.h"
#include "report/estimates.h"
#include "report/plain.h"
#include "report/predict_facts.h"
#include "report/sentences.h"
#include "report/table.h"

/* How quantities are shown, speeds in km/h. */
static const struct {
    const char *words, *unit;
    double factor;
    int decimals;
} shown[] = {
#define KMH "km/h", CW_KMH_PER_MS, 2
    [CW_PREDICT_TIME] = {"time to the end", "s", 1, 2},
    [CW_PREDICT_MEAN_SPEED] = {"mean speed", KMH},
    [CW_PREDICT_TOP_SPEED] = {"top speed", KMH},
    [CW_PREDICT_TOP_PLACE] = {"  reached at", "m", 1, 1},
    [CW_PREDICT_TOP_TIME] = {"  after", "s", 1, 2},
    [CW_PREDICT_END_SPEED] = {"speed at the end", KMH},
    [CW_PREDICT_TERMINAL_SPEED] = {"terminal speed", KMH},
    [CW_PREDICT_STOPPING] = {"stopping from top speed", "m", 1, 1},
    [CW_PREDICT_RUNOUT] = {"run-out: stands still at", "m", 1, 1},
    [CW_PREDICT_PAST_LOWEST] = {"  past the lowest place", "m", 1, 1},
    [CW_PREDICT_RUNOUT_TIME] = {"  after", "s", 1, 2},
    [CW_PREDICT_LEVEL_RUNOUT] = {"run-out on the level beyond", "m", 1, 1},
    [CW_PREDICT_FLAT_SPEED] = {"speed on the flat at that power", KMH},
    [CW_PREDICT_FLAT_POWER] = {"power at 40 km/h on the flat", "W", 1, 1},
    [CW_PREDICT_FLAT_POWER_MPH] = {"power at 25 mph on the flat", "W", 1, 1},
    [CW_PREDICT_WORTH_CDA] = {"change of CdA worth that mass", "m2", 1, 4},
    [CW_PREDICT_WANTED_CDA] = {"CdA for the time wanted", "m2", 1, 4},
    [CW_PREDICT_CDA] = {"CdA", "m2", 1, 4},
    [CW_PREDICT_CRR] = {"Crr", "", 1, 5},
    [CW_PREDICT_MASS] = {"mass", "kg", 1, 2},
    [CW_PREDICT_DENSITY] = {"density of the air", "kg/m3", 1, 4},
#undef KMH
};

/* A head of its own for what was asked with a number. */
static void add_words(const struct cw_prediction *prediction, size_t q, struct cw_table *table) {
    struct cw_text words = {0};
    if (q == CW_PREDICT_WORTH_CDA)
        cw_text_add(&words, "change of CdA worth %.10g kg more", prediction->worth_kg);
    else if (q == CW_PREDICT_WANTED_CDA)
        cw_text_add(&words, "CdA for %.10g s", prediction->wanted_time_s);
    else if (q == CW_PREDICT_TERMINAL_SPEED)
        cw_text_add(&words, "terminal speed at %.1f %%",
                    100 * cw_predict_slope(prediction->road->steepest_sine));
    else if (q == CW_PREDICT_FLAT_SPEED)
        cw_text_add(&words, "speed on the flat at %.10g W",
                    prediction->at[0].number[CW_PREDICT_POWER].value);
    else
        cw_text_add(&words, "%s", shown[q].words);
    cw_table_add_row_head(table, words.bytes ? words.bytes : "", shown[q].unit);
    if (words.failed) table->cells.failed = true;
    cw_text_free(&words);
}

static void add_value(double value, size_t q, int more, struct cw_table *table) {
    cw_table_add_in(table, value * shown[q].factor, shown[q].unit, shown[q].decimals + more);
}

static void add_error(struct cw_estimate estimate, size_t q, struct cw_table *table) {
    int more = q == CW_PREDICT_CRR || q == CW_PREDICT_CDA ? 0 : 1;
    if (!(estimate.standard_error > 0)) { /* nothing is unsure, or nothing known of it */
        for (int k = 0; k < 3; k++) cw_table_add(table, isnan(estimate.standard_error) ? "?" : "");
        return;
    }
    add_value(estimate.standard_error, q, more, table);
    add_value(estimate.low, q, 0, table);
    add_value(estimate.high, q, 0, table);
}

/* Whether any of it is not known for sure. */
static bool unsure(const struct cw_estimate of[CW_PREDICT_QUANTITIES]) {
    for (size_t q = 0; q < CW_PREDICT_QUANTITIES; q++)
        if (!isnan(of[q].value) && of[q].standard_error != 0) return true;
    return false;
}

void cw_predict_ride_cells(const struct cw_prediction *prediction, size_t i, enum cw_units units,
                           const char *plus_minus, struct cw_predict_cells *cells) {
    const struct cw_predicted *ride = &prediction->at[i];
    const struct cw_estimate *told = i ? ride->difference : ride->of;
    *cells = (struct cw_predict_cells){.columns = {{"", "", false}, {"predicted", "", true}}};
    struct cw_column *columns = cells->columns;
    struct cw_table *table = &cells->table;
    bool errors = unsure(told);
    size_t other_speed = /* that is round in the other units */
        units == CW_UNITS_IMPERIAL ? CW_PREDICT_FLAT_POWER : CW_PREDICT_FLAT_POWER_MPH;
    table->columns = columns;
    table->n_columns = 2;
    table->units = units;
    if (i) columns[table->n_columns++] = (struct cw_column){"difference", "", true};
    if (errors) {
        columns[table->n_columns++] = (struct cw_column){plus_minus, "", true};
        columns[table->n_columns++] = (struct cw_column){"95 % from", "", true};
        columns[table->n_columns++] = (struct cw_column){"to", "", true};
    }
    for (size_t q = 0; q < CW_PREDICT_QUANTITIES; q++) {
        if (isnan(ride->of[q].value) || q == other_speed) continue;
        add_words(prediction, q, table);
        add_value(ride->of[q].value, q, 0, table);
        if (i) add_value(ride->difference[q].value, q, 0, table);
        if (errors) add_error(told[q], q, table);
    }
}

static void ride_table(const struct cw_prediction *prediction, size_t i, const struct cw_look *look,
                       struct cw_text *out) {
    struct cw_predict_cells cells;
    cw_predict_ride_cells(prediction, i, look->units, cw_signs_of(look).plus_minus, &cells);
    cw_table_write(&cells.table, look, out);
    cw_table_free(&cells.table);
}

enum cw_status cw_report_predict_table(const struct cw_prediction *prediction,
                                       const struct cw_look *look, struct cw_text *out,
                                       struct cw_error *error) {
    struct cw_sentences said = {0};
    struct cw_text line = {0};
    cw_predict_road_add(prediction->road, &line);
    cw_text_add(&line, ".");
    cw_wrapped_take(out, &line, look, 0);
    for (size_t i = 0; i < prediction->n; i++) {
        if (i) cw_text_add(out, "\n");
        cw_predict_ride_add(prediction, i, &line);
        cw_text_add(&line, ".");
        cw_wrapped_take(out, &line, look, 0);
        cw_text_add(out, "\n");
        ride_table(prediction, i, look, out);
    }
    cw_predict_doubts(prediction, &said);
    cw_sentences_list("Mind", &said, look, out);
    cw_predict_taken(prediction, &said);
    cw_sentences_list("Taken, for nothing else was said", &said, look, out);
    cw_predict_cautions(prediction, &said);
    cw_sentences_list("Before riding", &said, look, out);
    return out->failed ? cw_error_memory(error) : CW_OK;
}

enum cw_status cw_report_predict_csv(const struct cw_prediction *prediction, struct cw_text *out,
                                     struct cw_error *error) {
    static const char *const heads[] = {
        "with", "time_s", "s_m", "height_m", "slope_percent", "speed_ms", "acceleration_ms2"};
    struct cw_csv csv = {.out = out};
    cw_csv_add_heads(&csv, heads, sizeof heads / sizeof *heads);
    for (size_t i = 0; i < prediction->n; i++) {
        const struct cw_predict_trace *trace = &prediction->at[i].trace;
        for (size_t k = 0; k < trace->n; k++) {
            cw_csv_add(&csv, prediction->at[i].label);
            cw_csv_add_number(&csv, trace->time_s[k]);
            cw_csv_add_number(&csv, trace->s_m[k]);
            cw_csv_add_number(&csv, trace->height_m[k]);
            cw_csv_add_number(&csv, 100 * cw_predict_slope(trace->slope_ds[k]));
            cw_csv_add_number(&csv, trace->speed_ms[k]);
            cw_csv_add_number(&csv, trace->acceleration_ms2[k]);
            cw_csv_end_row(&csv);
        }
    }
    return out->failed ? cw_error_memory(error) : CW_OK;
}
