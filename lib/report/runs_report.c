#include "report/runs_report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/number.h"
#include "base/path.h"
#include "base/print.h"
#include "report/clock.h"
#include "report/csv.h"
#include "report/heights.h"
#include "report/json.h"
#include "report/lists.h"
#include "report/plain.h"
#include "report/ride.h"
#include "report/roads.h"
#include "report/run_facts.h"
#include "report/table.h"

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

static long first_line(const struct cw_analysed *of, const struct cw_run *run) {
    return of->recordings[run->recording].samples.line[run->first];
}

/* Roads are counted from 1 for people and programs; NaN where a run is on none. */
static double road_of(const struct cw_run *run) {
    return run->road == CW_ROAD_NONE ? NAN : (double)run->road + 1;
}

static const char *setup_of(const struct cw_analysed *of, size_t run) {
    return cw_analysed_setup(of, of->runs.at[run].setup);
}

/* ---- for people ---- */

/* A duration as h:mm:ss, or m:ss below an hour; "-" for NaN. */
static void duration_text(double duration_s, char text[32]) {
    if (!isfinite(duration_s) || fabs(duration_s) > 1e9) {
        cw_print(text, 32, "-");
        return;
    }
    long s = lround(duration_s);
    if (s >= 3600)
        cw_print(text, 32, "%ld:%02ld:%02ld", s / 3600, s / 60 % 60, s % 60);
    else
        cw_print(text, 32, "%ld:%02ld", s / 60, s % 60);
}

/* A recording's file: without its folder, where that tells it from the others. */
static const char *shown_name(const struct cw_analysed *of, size_t i) {
    const char *name = cw_path_name(of->recordings[i].file);
    for (size_t j = 0; j < of->n_recordings; j++)
        if (j != i && !strcmp(cw_path_name(of->recordings[j].file), name))
            return of->recordings[i].file;
    return name;
}

static void recordings_table(const struct cw_analysed *of, const struct cw_look *look,
                             struct cw_text *out) {
    const struct cw_clock clock = cw_clock_of(of);
    const struct cw_column columns[] = {
        {"", "", true},        {"recording", "", false},     {"format", "", false},
        {"samples", "", true}, {"start", clock.name, false}, {"time", "h:min:s", true},
        {"holds", "", false}};
    bool numbered = of->n_recordings > 1;
    struct cw_table table = {.columns = columns + !numbered,
                             .n_columns = sizeof columns / sizeof *columns - !numbered,
                             .units = look->units};
    for (size_t i = 0; i < of->n_recordings; i++) {
        const struct cw_recording *recording = &of->recordings[i];
        char start[CW_CLOCK_TEXT], time[32];
        struct cw_text list = {0};
        duration_text(duration_s(recording), time);
        for (size_t j = 0; j < HOLDINGS; j++)
            if (holds(recording, j))
                cw_text_add(&list, "%s%s", list.length ? " " : "", holdings[j].name);
        if (list.failed) out->failed = true;
        if (numbered) cw_table_add(&table, "%zu", i + 1);
        cw_table_add(&table, "%s", shown_name(of, i));
        cw_table_add(&table, "%s", cw_format_text(recording->format));
        cw_table_add(&table, "%zu", recording->samples.n);
        cw_clock_write(&clock, start_s(recording), start);
        cw_table_add(&table, "%.16s", start); /* to the minute */
        cw_table_add(&table, "%s", time);
        cw_table_add(&table, "%s", list.bytes ? list.bytes : "nothing");
        cw_text_free(&list);
    }
    cw_table_write(&table, look, out);
    cw_table_free(&table);
}

static size_t count(const struct cw_analysed *of, bool kept) {
    size_t n = 0;
    for (size_t i = 0; i < of->runs.n; i++) n += of->runs.at[i].kept == kept;
    return n;
}

/* A column only where it tells something. */
struct shown {
    bool number, descent, recording, day, by, road, way, setup, noted, reasons;
    struct cw_clock clock;
};

static size_t run_columns(const struct shown *shown, struct cw_column columns[16]) {
    const struct cw_column day = {"day", "", false},
                           always[] = {{"start", shown->clock.name, false},
                                       CW_RUN_EXTENT_COLUMNS,
                                       {"slope", "%", true},
                                       CW_RUN_SPEED_COLUMNS};
    size_t n = 0;
    if (shown->number) columns[n++] = (struct cw_column){"run", "", true};
    if (shown->descent) columns[n++] = (struct cw_column){"descent", "", true};
    if (shown->recording) columns[n++] = (struct cw_column){"recording", "", true};
    if (shown->day) columns[n++] = day;
    for (size_t i = 0; i < sizeof always / sizeof *always; i++) columns[n++] = always[i];
    if (shown->by) columns[n++] = (struct cw_column){"told by", "", false};
    if (shown->road) columns[n++] = (struct cw_column){"road", "", true};
    if (shown->way) columns[n++] = (struct cw_column){"way", "", false};
    if (shown->setup) columns[n++] = (struct cw_column){"setup", "", false};
    if (shown->noted) columns[n++] = (struct cw_column){"wind noted", "m/s", true};
    if (shown->reasons) columns[n++] = (struct cw_column){"turned down for", "", false};
    return n;
}

static void run_row(struct cw_table *table, const struct cw_analysed *of, const struct cw_run *run,
                    const struct shown *shown) {
    char start[CW_CLOCK_TEXT];
    if (shown->number) cw_table_add(table, "%ld", run->number);
    if (shown->descent) cw_table_add(table, "%zu", run->descent);
    if (shown->recording) cw_table_add(table, "%zu", run->recording + 1);
    cw_clock_write(&shown->clock, run->start_s, start);
    if (shown->day) cw_table_add(table, "%.*s", CW_CLOCK_DAY, start);
    cw_table_add_clock(table, &shown->clock, run->start_s, false);
    cw_run_extent_add(table, run);
    cw_table_add_number(table, run->mean_slope * 100, 1);
    cw_run_speeds_add(table, run);
    if (shown->by) cw_table_add(table, "%s", run->by_energy ? "energy" : "sensor");
    if (shown->road) cw_table_add_number(table, road_of(run), 0);
    if (shown->way) cw_table_add(table, "%s", run->reversed ? "back" : "there");
    if (shown->setup) cw_table_add_name(table, cw_analysed_setup(of, run->setup));
    if (shown->noted) cw_table_add_number(table, run->noted.wind_ms, 2);
    if (shown->reasons) cw_table_add_reasons(table, run->reasons);
}

static size_t count_by_energy(const struct cw_analysed *of) {
    size_t n = 0;
    for (size_t i = 0; i < of->runs.n; i++) n += of->runs.at[i].kept && of->runs.at[i].by_energy;
    return n;
}

static bool any_reversed(const struct cw_analysed *of) {
    for (size_t i = 0; i < of->runs.n; i++)
        if (of->runs.at[i].kept && of->runs.at[i].reversed) return true;
    return false;
}

static bool any_noted(const struct cw_analysed *of) {
    for (size_t i = 0; i < of->runs.n; i++)
        if (of->runs.at[i].kept && !isnan(of->runs.at[i].noted.wind_ms)) return true;
    return false;
}

/* The day of all runs found, in text; false where they are of several. */
static bool one_day(const struct cw_analysed *of, const struct cw_clock *clock,
                    char text[CW_CLOCK_TEXT]) {
    char other[CW_CLOCK_TEXT];
    *text = '\0';
    if (!of->runs.n) return false;
    cw_clock_write(clock, of->runs.at[0].start_s, text);
    text[CW_CLOCK_DAY] = '\0';
    for (size_t i = 1; i < of->runs.n; i++) {
        cw_clock_write(clock, of->runs.at[i].start_s, other);
        if (strncmp(other, text, CW_CLOCK_DAY)) return false;
    }
    return true;
}

/* Of a recording's coasts that tell too little those that go farthest are listed where not all is
 * asked for: so many. */
enum { FARTHEST = 3 };

/* Marks those that are not listed and counts them. Allocates *left_out, a value a run, NULL where
 * memory runs out; free it. */
static size_t leave_out(const struct cw_analysed *of, bool all, bool **left_out) {
    size_t n = 0, room = of->runs.n ? of->runs.n : 1;
    struct farthest {
        size_t n, run[FARTHEST]; /* the farthest first */
    } *farthest = calloc(of->n_recordings ? of->n_recordings : 1, sizeof *farthest);
    *left_out = calloc(room, sizeof **left_out);
    for (size_t i = 0; !all && farthest && *left_out && i < of->runs.n; i++) {
        const struct cw_run *at = of->runs.at;
        struct farthest *f = &farthest[at[i].recording];
        if (!(at[i].reasons & CW_REASON_SHORT) || at[i].reasons & CW_REASON_SKIPPED) continue;
        size_t place = f->n, last = FARTHEST - 1;
        while (place > 0 && at[f->run[place - 1]].distance_m < at[i].distance_m) place--;
        if (f->n == FARTHEST) {
            (*left_out)[place > last ? i : f->run[last]] = true;
            n++;
        } else {
            last = f->n++;
        }
        for (size_t k = last; k > place; k--) f->run[k] = f->run[k - 1];
        if (place <= last) f->run[place] = i;
    }
    if (!farthest) {
        free(*left_out);
        *left_out = NULL;
    }
    free(farthest);
    return n;
}

static void runs_table(const struct cw_analysed *of, bool kept, const bool *left_out,
                       const struct cw_look *look, struct cw_text *out) {
    size_t by_energy = count_by_energy(of);
    char day[CW_CLOCK_TEXT];
    const struct cw_clock clock = cw_clock_of(of);
    struct shown shown = {.number = true,
                          .descent = kept && of->runs.in_pieces,
                          .recording = of->n_recordings > 1,
                          .day = !one_day(of, &clock, day),
                          .clock = clock,
                          .by = kept && by_energy > 0 && by_energy < count(of, true),
                          .road =
                              kept && of->runs.n_roads > 1 && of->runs.n_roads < count(of, true),
                          .way = kept && any_reversed(of),
                          .setup = kept && of->has_file,
                          .noted = kept && any_noted(of),
                          .reasons = !kept};
    struct cw_column columns[16];
    struct cw_table table = {
        .columns = columns, .n_columns = run_columns(&shown, columns), .units = look->units};
    for (size_t i = 0; i < of->runs.n; i++)
        if (of->runs.at[i].kept == kept && !left_out[i])
            run_row(&table, of, &of->runs.at[i], &shown);
    cw_table_write(&table, look, out);
    cw_table_free(&table);
}

static void slight_table(const struct cw_analysed *of, const struct cw_look *look,
                         struct cw_text *out) {
    struct shown shown = {
        .recording = of->n_recordings > 1, .day = true, .clock = cw_clock_of(of), .reasons = true};
    struct cw_column columns[16];
    struct cw_table table = {
        .columns = columns, .n_columns = run_columns(&shown, columns), .units = look->units};
    for (size_t i = 0; i < of->runs.n_slight; i++) run_row(&table, of, &of->runs.slight[i], &shown);
    cw_table_write(&table, look, out);
    cw_table_free(&table);
}

enum cw_status cw_report_runs_table(const struct cw_analysed *of, bool all,
                                    const struct cw_look *look, struct cw_text *out,
                                    struct cw_error *error) {
    bool *left_out;
    size_t kept = count(of, true), turned_down = count(of, false);
    size_t slight = of->runs.n_slight, unlisted = leave_out(of, all, &left_out);
    if (!left_out) return cw_error_memory(error);
    turned_down -= unlisted;
    struct cw_text ride = {0}, heights = {0};
    cw_ride_add(of, NULL, &ride);
    if (kept) cw_heights_say(of, NULL, &heights);
    bool any = ride.bytes || heights.bytes;
    cw_wrapped_take(out, &ride, look, 0);
    cw_wrapped_take(out, &heights, look, 0);
    if (any) cw_text_add(out, "\n");
    recordings_table(of, look, out);
    char day[CW_CLOCK_TEXT];
    const struct cw_clock clock = cw_clock_of(of);
    bool alike = kept && one_day(of, &clock, day);
    cw_text_add(out, "\n%zu %s kept%s%s%s\n", kept, kept == 1 ? "run" : "runs", alike ? " on " : "",
                alike ? day : "", kept ? ":" : "");
    if (kept) runs_table(of, true, left_out, look, out);
    cw_roads_add(of, all, look, out);
    size_t by_energy = count_by_energy(of);
    if (by_energy) {
        struct cw_text line = {0};
        cw_text_add(&line,
                    "%s told by energy alone, without cadence or power to go by: soft pedalling "
                    "may hide in %s.",
                    by_energy < kept ? "Some of these runs (\"energy\") are"
                    : kept == 1      ? "This run is"
                                     : "These runs are",
                    kept == 1 ? "it" : "them");
        cw_text_add(out, "\n");
        cw_wrapped_take(out, &line, look, 0);
    }
    if (turned_down) {
        cw_text_add(out, "\n%zu turned down:\n", turned_down);
        runs_table(of, false, left_out, look, out);
    }
    free(left_out);
    size_t more = slight + unlisted;
    if (more) {
        cw_text_add(out, "\n%zu more %s too little to be %s%s\n", more,
                    more == 1 ? "coast tells" : "coasts tell", more == 1 ? "a run" : "runs",
                    all ? ":" : "; --all lists them.");
        if (all) slight_table(of, look, out);
    }
    if (of->labelled < 0) cw_lists_add(of, look, out);
    cw_ride_lines_add(of, look, out);
    return out->failed ? cw_error_memory(error) : CW_OK;
}

/* ---- for programs ---- */

enum cw_status cw_report_runs_csv(const struct cw_analysed *of, struct cw_text *out,
                                  struct cw_error *error) {
    static const char *const heads[] = {
        "number",        "recording", "line",       "start",          "duration_s",
        "distance_m",    "drop_m",    "mean_slope", "entry_speed_ms", "top_speed_ms",
        "exit_speed_ms", "ends",      "kept",       "reasons",        "road",
        "setup",         "by_energy", "reversed",   "wind_noted_ms",  "wind_logged_ms"};
    struct cw_csv csv = {.out = out};
    cw_csv_add_heads(&csv, heads, sizeof heads / sizeof *heads);
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        char start[40];
        struct cw_text reasons = {0};
        cw_time_write(run->start_s, start, sizeof start);
        cw_reasons_add(&reasons, run->reasons, "; ");
        cw_csv_add_number(&csv, (double)run->number);
        cw_csv_add(&csv, of->recordings[run->recording].file);
        cw_csv_add_number(&csv, (double)first_line(of, run));
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
        cw_csv_add(&csv, reasons.bytes);
        cw_csv_add_number(&csv, road_of(run));
        cw_csv_add(&csv, setup_of(of, i));
        cw_csv_add(&csv, run->by_energy ? "true" : "false");
        cw_csv_add(&csv, run->reversed ? "true" : "false");
        cw_csv_add_number(&csv, run->noted.wind_ms);
        cw_csv_add_number(&csv, run->logged.wind_ms);
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

static json_t *run_json(const struct cw_analysed *of, const struct cw_run *run, bool *failed) {
    struct cw_json object = cw_json_object(failed);
    if (run->number) cw_json_set(object, "number", json_integer(run->number));
    cw_json_set(object, "recording", cw_json_string(of->recordings[run->recording].file));
    cw_json_set(object, "line", json_integer(first_line(of, run)));
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
    cw_json_set(object, "by_energy", json_boolean(run->by_energy));
    cw_json_set(object, "descent",
                run->kept && run->descent ? json_integer((json_int_t)run->descent) : json_null());
    cw_json_set(object, "road",
                isnan(road_of(run)) ? json_null() : json_integer((json_int_t)road_of(run)));
    cw_json_set(object, "reversed", json_boolean(run->reversed));
    const char *setup = cw_analysed_setup(of, run->setup);
    if (setup) cw_json_set(object, "setup", cw_json_string(setup));
    if (!isnan(run->noted.wind_ms))
        cw_json_set(object, "wind_noted_ms", cw_json_number(run->noted.wind_ms));
    if (!isnan(run->logged.wind_ms))
        cw_json_set(object, "wind_logged_ms", cw_json_number(run->logged.wind_ms));
    return object.value;
}

enum cw_status cw_report_runs_json(const struct cw_analysed *of, struct cw_text *out,
                                   struct cw_error *error) {
    bool failed = false;
    struct cw_json document = cw_json_document("runs", &failed);
    struct cw_json recordings = cw_json_array(&failed), runs = cw_json_array(&failed);
    struct cw_json slight = cw_json_array(&failed);
    for (size_t i = 0; i < of->n_recordings; i++)
        cw_json_append(recordings, recording_json(&of->recordings[i], &failed));
    for (size_t i = 0; i < of->runs.n; i++)
        cw_json_append(runs, run_json(of, &of->runs.at[i], &failed));
    for (size_t i = 0; i < of->runs.n_slight; i++)
        cw_json_append(slight, run_json(of, &of->runs.slight[i], &failed));
    cw_json_set(document, "ride", cw_ride_json(of, NULL, &failed));
    cw_json_set(document, "recordings", recordings.value);
    cw_json_set(document, "heights", cw_heights_json(of, NULL, &failed));
    cw_json_set(document, "runs", runs.value);
    cw_json_set(document, "slight", slight.value);
    cw_json_set(document, "roads", cw_roads_json(of, &failed));
    return cw_json_finish(document, out, error);
}
