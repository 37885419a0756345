#include "report/runs_report.h"

#include <math.h>
#include <stdio.h>

#include "base/number.h"
#include "report/csv.h"
#include "report/json.h"
#include "report/table.h"
#include "report/words.h"

/* What a recording holds: one list for the table and the JSON. */
static const struct {
    const char *name;
    size_t offset;
} holdings[] = {{"position", offsetof(struct cw_recording, has_position)},
                {"elevation", offsetof(struct cw_recording, has_elevation)},
                {"speed", offsetof(struct cw_recording, has_speed)},
                {"distance", offsetof(struct cw_recording, has_distance)},
                {"cadence", offsetof(struct cw_recording, has_cadence)},
                {"power", offsetof(struct cw_recording, has_power)},
                {"temperature", offsetof(struct cw_recording, has_temperature)}};
#define HOLDINGS (sizeof holdings / sizeof *holdings)

static bool holds(const struct cw_recording *recording, size_t i) {
    return *(const bool *)((const char *)recording + holdings[i].offset);
}

static double start_s(const struct cw_recording *recording) {
    return recording->samples.n ? recording->samples.time_s[0] : NAN;
}

static double duration_s(const struct cw_recording *recording) {
    size_t n = recording->samples.n;
    return n ? recording->samples.time_s[n - 1] - recording->samples.time_s[0] : NAN;
}

static long first_line(const struct cw_runs_report *report, const struct cw_run *run) {
    return report->recordings[run->recording].samples.line[run->first];
}

static const char *setup_of(const struct cw_runs_report *report, size_t run) {
    return report->setups ? report->setups[run] : NULL;
}

/* ---- for people ---- */

static void recordings_table(const struct cw_runs_report *report, struct cw_text *out) {
    static const struct cw_column columns[] = {
        {"recording", "", false},   {"format", "", false},     {"samples", "", true},
        {"start (UTC)", "", false}, {"time", "h:min:s", true}, {"holds", "", false}};
    struct cw_table table = {.columns = columns, .n_columns = sizeof columns / sizeof *columns};
    for (size_t i = 0; i < report->n_recordings; i++) {
        const struct cw_recording *recording = &report->recordings[i];
        char start[40], time[32];
        struct cw_text list = {0};
        cw_time_write(floor(start_s(recording)), start, sizeof start);
        cw_duration_text(duration_s(recording), time);
        for (size_t j = 0; j < HOLDINGS; j++)
            if (holds(recording, j))
                cw_text_add(&list, "%s%s", list.length ? " " : "", holdings[j].name);
        if (list.failed) out->failed = true;
        cw_table_add(&table, "%s", recording->file);
        cw_table_add(&table, "%s", cw_format_text(recording->format));
        cw_table_add(&table, "%zu", recording->samples.n);
        cw_table_add(&table, "%s", start);
        cw_table_add(&table, "%s", time);
        cw_table_add(&table, "%s", list.bytes ? list.bytes : "nothing");
        cw_text_free(&list);
    }
    cw_table_write(&table, out);
    cw_table_free(&table);
}

static const struct cw_column run_columns[] = {{"run", "", true},       {"start (UTC)", "", false},
                                               {"time", "s", true},     {"length", "m", true},
                                               {"drop", "m", true},     {"slope", "%", true},
                                               {"entry", "km/h", true}, {"top", "km/h", true},
                                               {"exit", "km/h", true},  {"ends in", "", false},
                                               {"", "", false}};

static void run_row(struct cw_table *table, const struct cw_runs_report *report, size_t i) {
    const struct cw_run *run = &report->runs->at[i];
    char start[40];
    cw_time_write(floor(run->start_s), start, sizeof start);
    cw_table_add(table, "%ld", run->number);
    cw_table_add(table, "%s", start);
    cw_table_add_number(table, run->duration_s, 0);
    cw_table_add_number(table, run->distance_m, 0);
    cw_table_add_number(table, run->drop_m, 1);
    cw_table_add_number(table, run->mean_slope * 100, 1);
    cw_table_add_number(table, run->entry_speed_ms * 3.6, 1);
    cw_table_add_number(table, run->top_speed_ms * 3.6, 1);
    cw_table_add_number(table, run->exit_speed_ms * 3.6, 1);
    cw_table_add(table, "%s", cw_run_end_text(run->ends));
    struct cw_text verdict = {0};
    if (run->kept)
        cw_text_add(&verdict, "kept%s%s", setup_of(report, i) ? ": " : "",
                    setup_of(report, i) ? setup_of(report, i) : "");
    else
        cw_reasons_add(&verdict, run->reasons, ", ");
    cw_table_add(table, "%s", verdict.bytes ? verdict.bytes : "");
    if (verdict.failed) table->cells.failed = true;
    cw_text_free(&verdict);
}

/* The runs of one recording, kept or turned down; returns how many. */
static size_t runs_table(const struct cw_runs_report *report, bool kept, struct cw_text *out) {
    struct cw_table table = {.columns = run_columns,
                             .n_columns = sizeof run_columns / sizeof *run_columns};
    size_t n = 0;
    for (size_t i = 0; i < report->runs->n; i++) {
        if (report->runs->at[i].kept != kept) continue;
        run_row(&table, report, i);
        n++;
    }
    if (n) cw_table_write(&table, out);
    cw_table_free(&table);
    return n;
}

enum cw_status cw_report_runs_table(const struct cw_runs_report *report, struct cw_text *out,
                                    struct cw_error *error) {
    struct cw_text kept = {0}, turned_down = {0};
    recordings_table(report, out);
    size_t n_kept = runs_table(report, true, &kept);
    size_t n_down = runs_table(report, false, &turned_down);
    cw_text_add(out, "\n%zu %s kept%s\n%s", n_kept, n_kept == 1 ? "run" : "runs", n_kept ? ":" : "",
                kept.bytes ? kept.bytes : "");
    if (n_down)
        cw_text_add(out, "\n%zu turned down:\n%s", n_down,
                    turned_down.bytes ? turned_down.bytes : "");
    if (kept.failed || turned_down.failed) out->failed = true;
    cw_text_free(&kept);
    cw_text_free(&turned_down);
    return out->failed ? cw_error_memory(error) : CW_OK;
}

/* ---- for programs ---- */

enum cw_status cw_report_runs_csv(const struct cw_runs_report *report, struct cw_text *out,
                                  struct cw_error *error) {
    static const char *const heads[] = {
        "number", "recording",  "line",           "start",        "duration_s",    "distance_m",
        "drop_m", "mean_slope", "entry_speed_ms", "top_speed_ms", "exit_speed_ms", "ends",
        "kept",   "reasons",    "road",           "setup"};
    struct cw_csv csv = {.out = out};
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++) cw_csv_add(&csv, heads[i]);
    cw_csv_end_row(&csv);
    for (size_t i = 0; i < report->runs->n; i++) {
        const struct cw_run *run = &report->runs->at[i];
        char start[40];
        struct cw_text reasons = {0};
        cw_time_write(run->start_s, start, sizeof start);
        cw_reasons_add(&reasons, run->reasons, "; ");
        cw_csv_add_number(&csv, (double)run->number);
        cw_csv_add(&csv, report->recordings[run->recording].file);
        cw_csv_add_number(&csv, (double)first_line(report, run));
        cw_csv_add(&csv, start);
        cw_csv_add_number(&csv, run->duration_s);
        cw_csv_add_number(&csv, run->distance_m);
        cw_csv_add_number(&csv, run->drop_m);
        cw_csv_add_number(&csv, run->mean_slope);
        cw_csv_add_number(&csv, run->entry_speed_ms);
        cw_csv_add_number(&csv, run->top_speed_ms);
        cw_csv_add_number(&csv, run->exit_speed_ms);
        cw_csv_add(&csv, cw_run_end_text(run->ends));
        cw_csv_add(&csv, run->kept ? "true" : "false");
        cw_csv_add(&csv, reasons.bytes ? reasons.bytes : "");
        cw_csv_add_number(&csv, (double)run->road);
        cw_csv_add(&csv, setup_of(report, i) ? setup_of(report, i) : "");
        cw_csv_end_row(&csv);
        if (reasons.failed) out->failed = true;
        cw_text_free(&reasons);
    }
    return out->failed ? cw_error_memory(error) : CW_OK;
}

static json_t *recording_json(const struct cw_recording *recording, bool *failed) {
    struct cw_json object = cw_json_object(failed), has = cw_json_object(failed);
    cw_json_set(object, "file", cw_json_string(recording->file));
    cw_json_set(object, "format", cw_json_string(cw_format_text(recording->format)));
    cw_json_set(object, "samples", json_integer((json_int_t)recording->samples.n));
    cw_json_set(object, "start", cw_json_time(start_s(recording)));
    cw_json_set(object, "duration_s", cw_json_number(duration_s(recording)));
    for (size_t i = 0; i < HOLDINGS; i++)
        cw_json_set(has, holdings[i].name, json_boolean(holds(recording, i)));
    cw_json_set(object, "has", has.value);
    cw_json_set(object, "warnings", cw_json_warnings(&recording->warnings));
    return object.value;
}

static json_t *reasons_json(unsigned reasons, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (int i = 0; i < CW_REASON_COUNT; i++)
        if (reasons & 1U << i)
            cw_json_append(array,
                           cw_json_string(cw_run_reason_text((enum cw_run_reason)(1U << i))));
    return array.value;
}

static json_t *run_json(const struct cw_runs_report *report, size_t i, bool *failed) {
    const struct cw_run *run = &report->runs->at[i];
    struct cw_json object = cw_json_object(failed);
    cw_json_set(object, "number", json_integer(run->number));
    cw_json_set(object, "recording", cw_json_string(report->recordings[run->recording].file));
    cw_json_set(object, "line", json_integer(first_line(report, run)));
    cw_json_set(object, "start", cw_json_time(run->start_s));
    cw_json_set(object, "duration_s", cw_json_number(run->duration_s));
    cw_json_set(object, "distance_m", cw_json_number(run->distance_m));
    cw_json_set(object, "drop_m", cw_json_number(run->drop_m));
    cw_json_set(object, "mean_slope", cw_json_number(run->mean_slope));
    cw_json_set(object, "entry_speed_ms", cw_json_number(run->entry_speed_ms));
    cw_json_set(object, "top_speed_ms", cw_json_number(run->top_speed_ms));
    cw_json_set(object, "exit_speed_ms", cw_json_number(run->exit_speed_ms));
    cw_json_set(object, "ends", cw_json_string(cw_run_end_text(run->ends)));
    cw_json_set(object, "kept", json_boolean(run->kept));
    cw_json_set(object, "reasons", reasons_json(run->reasons, failed));
    cw_json_set(object, "road", json_integer((json_int_t)run->road));
    if (setup_of(report, i)) cw_json_set(object, "setup", cw_json_string(setup_of(report, i)));
    return object.value;
}

enum cw_status cw_report_runs_json(const struct cw_runs_report *report, struct cw_text *out,
                                   struct cw_error *error) {
    bool failed = false;
    struct cw_json document = cw_json_object(&failed);
    struct cw_json recordings = cw_json_array(&failed), runs = cw_json_array(&failed);
    for (size_t i = 0; i < report->n_recordings; i++)
        cw_json_append(recordings, recording_json(&report->recordings[i], &failed));
    for (size_t i = 0; i < report->runs->n; i++) cw_json_append(runs, run_json(report, i, &failed));
    cw_json_set(document, "recordings", recordings.value);
    cw_json_set(document, "runs", runs.value);
    return cw_json_finish(document, out, error);
}
