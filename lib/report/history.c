#include "report/history.h"

#include <math.h>

#include "base/number.h"
#include "report/clock.h"
#include "report/estimates.h"
#include "report/json.h"
#include "report/plain.h"

bool cw_history_told(const struct cw_analysis *analysis) {
    const struct cw_compare *compare = cw_analysis_compared(analysis);
    return compare && (compare->history.n_cda || compare->history.n_crr);
}

/* The runs' mean length, and slope as the road's way has it (- is down). */
static void mean_road(const struct cw_analysed *of, double *length_m, double *slope) {
    double drop_m = 0;
    *length_m = 0;
    for (size_t i = 0; i < of->fit.n_runs; i++) {
        const struct cw_run *run = &of->runs.at[of->fit.runs[i].run];
        *length_m += run->distance_m / (double)of->fit.n_runs;
        drop_m += (run->reversed ? -1 : 1) * run->drop_m / (double)of->fit.n_runs;
    }
    *slope = -drop_m / *length_m;
}

static void add_date(const struct cw_analysed *of, double time_s, struct cw_table *table) {
    char date[40];
    cw_time_write(time_s + cw_clock_of(of).offset_s, date, sizeof date);
    cw_table_add(table, "%.10s", date); /* YYYY-MM-DD */
}

static void add_nothing(struct cw_table *table, int cells) {
    for (int i = 0; i < cells; i++) cw_table_add(table, "%s", "");
}

/* The last of its kind. */
static bool ends(const struct cw_history_mark *marks, size_t n, size_t i) {
    return i + 1 == n || marks[i + 1].of != marks[i].of;
}

void cw_history_rows_add(const struct cw_analysis *analysis, struct cw_table *table) {
    const struct cw_compare *compare = &analysis->compare;
    const struct cw_history *history = &compare->history;
    for (size_t i = 0; i < history->n_cda; i++) {
        const struct cw_history_mark *mark = &history->cda[i];
        const struct cw_analysed *of = &analysis->outings[mark->outing];
        const struct cw_setup_result *setup = &compare->setups[mark->of];
        double length_m, slope;
        mean_road(of, &length_m, &slope);
        cw_table_add(table, "%s", setup->name);
        add_date(of, mark->time_s, table);
        cw_table_add_number(table, length_m, 0);
        cw_table_add_number(table, 100 * slope, 1);
        cw_table_add_number(table, of->fit.place.temperature_c, 1);
        cw_table_add(table, "%zu", mark->runs);
        cw_table_add_estimate(table, mark->estimate);
        if (!ends(history->cda, history->n_cda, i)) continue;
        cw_table_add(table, "%s", setup->name);
        cw_table_add(table, "all");
        add_nothing(table, 3);
        cw_table_add(table, "%zu", setup->runs);
        cw_table_add_estimate(table, setup->cda_m2);
    }
}

void cw_tyres_history_rows_add(const struct cw_analysis *analysis, struct cw_table *table) {
    const struct cw_history *history = &analysis->compare.history;
    size_t runs = 0;
    for (size_t i = 0; i < history->n_crr; i++) {
        const struct cw_history_mark *mark = &history->crr[i];
        const struct cw_analysed *of = &analysis->outings[mark->outing];
        const struct cw_history_tyres *tyres = &history->tyres[mark->of];
        cw_table_add(table, "%s", tyres->name);
        add_date(of, mark->time_s, table);
        cw_table_add_number(table, of->fit.temperature_c, 1);
        cw_table_add(table, "%zu", mark->runs);
        cw_table_add_estimate(table, mark->estimate);
        runs += mark->runs;
        if (!ends(history->crr, history->n_crr, i)) continue;
        cw_table_add(table, "%s", tyres->name);
        cw_table_add(table, "all");
        add_nothing(table, 1);
        cw_table_add(table, "%zu", runs);
        cw_table_add_estimate(table, tyres->crr);
        runs = 0;
    }
}

/* What both lists say of an outing. */
static struct cw_json mark_json(const struct cw_analysis *analysis,
                                const struct cw_history_mark *mark, const char *what,
                                const char *name, bool *failed) {
    const struct cw_analysed *of = &analysis->outings[mark->outing];
    struct cw_json object = cw_json_object(failed);
    double length_m, slope;
    mean_road(of, &length_m, &slope);
    cw_json_set(object, what, cw_json_string(name));
    cw_json_set(object, "outing", cw_json_string(of->outing.name));
    cw_json_set(object, "start", cw_json_time(mark->time_s));
    cw_json_set(object, "road_m", cw_json_number(length_m));
    cw_json_set(object, "slope", cw_json_number(slope));
    cw_json_set(object, "temperature_c", cw_json_number(of->fit.place.temperature_c));
    cw_json_set(object, "density_kgm3", cw_json_number(of->fit.place.density_kgm3));
    cw_json_set(object, "runs", json_integer((json_int_t)mark->runs));
    return object;
}

json_t *cw_history_json(const struct cw_analysis *analysis, bool *failed) {
    const struct cw_history *history = &analysis->compare.history;
    struct cw_json array = cw_json_array(failed);
    for (size_t i = 0; i < history->n_cda; i++) {
        const struct cw_history_mark *mark = &history->cda[i];
        struct cw_json object =
            mark_json(analysis, mark, "setup", analysis->compare.setups[mark->of].name, failed);
        cw_json_set(object, "cda_m2", cw_json_estimate(mark->estimate));
        cw_json_append(array, object.value);
    }
    return array.value;
}

json_t *cw_tyres_history_json(const struct cw_analysis *analysis, bool *failed) {
    const struct cw_history *history = &analysis->compare.history;
    struct cw_json array = cw_json_array(failed);
    for (size_t i = 0; i < history->n_crr; i++) {
        const struct cw_history_mark *mark = &history->crr[i];
        struct cw_json object =
            mark_json(analysis, mark, "tyres", history->tyres[mark->of].name, failed);
        cw_json_set(object, "crr_at_20c", cw_json_estimate(mark->estimate));
        cw_json_set(object, "crr_at_20c_of_all", cw_json_estimate(history->tyres[mark->of].crr));
        cw_json_append(array, object.value);
    }
    return array.value;
}

void cw_history_tables(const struct cw_analysis *analysis, const struct cw_look *look,
                       struct cw_text *out) {
    struct cw_signs sign = cw_signs_of(look);
    const struct cw_column columns[] = {CW_HISTORY_COLUMNS(sign.celsius, sign.m2, sign.plus_minus)},
                           rolling[] = {CW_TYRES_HISTORY_COLUMNS(sign.celsius, sign.plus_minus)};
    struct cw_table table = {.columns = columns,
                             .n_columns = sizeof columns / sizeof *columns,
                             .units = look->units},
                    tyres = {.columns = rolling,
                             .n_columns = sizeof rolling / sizeof *rolling,
                             .units = look->units};
    if (!cw_history_told(analysis)) return;
    cw_history_rows_add(analysis, &table);
    cw_tyres_history_rows_add(analysis, &tyres);
    if (table.n_cells) {
        cw_text_add(out, "\nAlong time: each outing by itself, and all together\n");
        cw_table_write(&table, look, out);
    }
    if (tyres.n_cells) {
        cw_text_add(out, "\nTyres along time, Crr as it would be at 20 %s\n", sign.celsius);
        cw_table_write(&tyres, look, out);
    }
    cw_table_free(&table);
    cw_table_free(&tyres);
}
