#include "outing/air_log_read.h"

#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "base/number.h"
#include "base/print.h"
#include "base/text.h"
#include "base/utf8.h"
#include "outing/air_log_columns.h"
#include "outing/cells.h"
#include "outing/keys.h"
#include "outing/read_source.h"
#include "stats/robust.h"

struct reading {
    struct cw_cells cells;
    struct cw_air_log *log;
    double utc_offset_s;
    struct cw_error *error;
    size_t n, time; /* columns of the file, and which is the time */
    /* NULL: the time, or one that is not used. */
    const struct cw_air_log_column *column[CW_CELLS_MOST];
    double low[CW_CELLS_MOST], high[CW_CELLS_MOST];
    size_t capacity; /* of the log's columns */
    long line;       /* of the row before */
    bool any;        /* value */
};

/* ---- faults ---- */

static enum cw_status wrong(const struct reading *r, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Of the row at hand. */
static enum cw_status wrong(const struct reading *r, const char *format, ...) {
    char message[CW_ERROR_MESSAGE];
    va_list arguments;
    va_start(arguments, format);
    cw_print_v(message, sizeof message, format, arguments);
    va_end(arguments);
    return cw_error_set(r->error, CW_E_FORMAT, r->log->file, r->cells.line, "%s", message);
}

#define SHOWN_LONGEST 60

/* The cell as it may be shown, its beginning if it is long. */
static const char *shown(const struct cw_cell *cell, char text[SHOWN_LONGEST + 1]) {
    struct cw_text safe = {0};
    size_t length = cell->length;
    if (length > SHOWN_LONGEST) {
        length = SHOWN_LONGEST;
        while (length && ((unsigned char)cell->text[length] & 0xc0) == 0x80) length--;
    }
    cw_print(text, SHOWN_LONGEST + 1, "%.*s", (int)length, cell->text);
    cw_utf8_add_shown(&safe, text); /* never longer */
    cw_print(text, SHOWN_LONGEST + 1, "%s", safe.failed || !safe.bytes ? "" : safe.bytes);
    cw_text_free(&safe);
    return text;
}

/* ---- the header ---- */

static bool is(const struct cw_cell *cell, const char *name) {
    return cell->length == strlen(name) && !memcmp(cell->text, name, cell->length);
}

static double **values(struct cw_air_log *log, const struct cw_air_log_column *column) {
    return (double **)(void *)((char *)log + column->offset);
}

/* Which column of the file gives that column of the log; NULL: none. */
static const struct cw_air_log_column *given(const struct reading *r, size_t offset) {
    for (size_t i = 0; i < r->n; i++)
        if (r->column[i] && r->column[i]->offset == offset) return r->column[i];
    return NULL;
}

static enum cw_status name_column(struct reading *r, size_t i) {
    size_t n;
    const struct cw_air_log_column *columns = cw_air_log_columns(&n);
    const struct cw_cell *cell = &r->cells.at[i];
    if (is(cell, "time")) {
        if (r->time < i) return wrong(r, "column \"time\" stands twice: leave one");
        r->time = i;
    }
    for (size_t k = 0; k < n; k++) {
        if (!is(cell, columns[k].name)) continue;
        const struct cw_air_log_column *before = given(r, columns[k].offset);
        if (before == &columns[k])
            return wrong(r, "column \"%s\" stands twice: leave one", before->name);
        if (before)
            return wrong(r, "columns \"%s\" and \"%s\" say the same: leave one", before->name,
                         columns[k].name);
        r->column[i] = &columns[k];
    }
    return CW_OK;
}

static enum cw_status refuse_without_time(const struct reading *r) {
    char name[SHOWN_LONGEST + 1];
    double number;
    for (size_t i = 0; i < r->n; i++) {
        const struct cw_cell *cell = &r->cells.at[i];
        if (cw_number_read(cell->text, cell->length, &number) ||
            cw_time_read(cell->text, cell->length, &number))
            return wrong(r, "the log has no header: put a row of the columns' names above, such as "
                            "time,wind_along_ms");
    }
    if (r->cells.at[0].length && *r->cells.at[0].text == '<')
        return wrong(r, "this is no log but XML, perhaps a recording: those stand in recordings; a "
                        "log is CSV, such as time,wind_along_ms and rows");
    return wrong(r, "no column of the header is called \"time\"; it begins with \"%s\"",
                 shown(&r->cells.at[0], name));
}

static enum cw_status check_unit(const struct reading *r, const char *name) {
    size_t n, meant = 0;
    const struct cw_air_log_column *columns = cw_air_log_columns(&n);
    const char *known[CW_AIR_LOG_COLUMN_COUNT];
    for (size_t k = 0; k < n; k++)
        if (cw_air_log_column_is_meant(&columns[k], name) && !given(r, columns[k].offset))
            known[meant++] = columns[k].name;
    if (!meant) return CW_OK;
    return wrong(r, "column \"%s\" ends in no known unit: the nearest known is \"%s\"", name,
                 cw_nearest(name, known, meant));
}

static enum cw_status note_unused(struct reading *r) {
    struct cw_air_log *log = r->log;
    log->unused = calloc(r->n, sizeof *log->unused);
    if (!log->unused) return cw_error_memory(r->error);
    for (size_t i = 0; i < r->n; i++) {
        char name[SHOWN_LONGEST + 1];
        if (r->column[i] || i == r->time) continue;
        shown(&r->cells.at[i], name);
        if (!*name) cw_print(name, sizeof name, "column %zu", i + 1);
        enum cw_status status = check_unit(r, name);
        if (status) return status;
        log->unused[log->n_unused] = strdup(name);
        if (!log->unused[log->n_unused]) return cw_error_memory(r->error);
        log->n_unused++;
    }
    return CW_OK;
}

static enum cw_status check_wind(const struct reading *r) {
    const struct cw_air_log_column *along = given(r, offsetof(struct cw_air_log, wind_along_ms));
    const struct cw_air_log_column *speed = given(r, offsetof(struct cw_air_log, wind_speed_ms));
    const struct cw_air_log_column *from = given(r, offsetof(struct cw_air_log, wind_from_rad));
    if (along && (speed || from))
        return wrong(r, "wind is given by \"%s\" and by \"%s\": give one or the other", along->name,
                     speed ? speed->name : from->name);
    if (speed && !from)
        return wrong(r,
                     "column \"%s\" stands without \"wind_from_deg\": give both, or "
                     "\"wind_along_ms\"",
                     speed->name);
    if (from && !speed)
        return wrong(r, "column \"wind_from_deg\" stands without \"wind_speed_ms\": give both, or "
                        "\"wind_along_ms\"");
    return CW_OK;
}

static enum cw_status read_header(struct reading *r) {
    enum cw_status status = cw_cells_next(&r->cells, r->error);
    if (!status && r->cells.n == 0)
        return cw_error_set(r->error, CW_E_FORMAT, r->log->file, 0,
                            "is empty: an air log is a header, such as time,wind_along_ms, and "
                            "rows");
    r->time = CW_CELLS_MOST;
    for (; r->n < r->cells.n && !status; r->n++) status = name_column(r, r->n);
    if (!status && r->time == CW_CELLS_MOST) status = refuse_without_time(r);
    if (!status) status = note_unused(r);
    if (!status) status = check_wind(r);
    if (status) return status;
    if (1 + r->log->n_unused == r->n)
        return wrong(r, "no column beside \"time\" is known: name one \"wind_along_ms\", "
                        "\"wind_speed_ms\" with \"wind_from_deg\", \"temperature_c\", "
                        "\"pressure_hpa\" or \"humidity_percent\"");
    for (size_t i = 0; i < r->n; i++)
        if (r->column[i]) cw_air_log_column_range(r->column[i], &r->low[i], &r->high[i]);
    return CW_OK;
}

/* ---- rows ---- */

static bool grow(double **column, size_t capacity) {
    double *grown = realloc(*column, capacity * sizeof *grown);
    if (grown) *column = grown;
    return grown;
}

static enum cw_status reserve(struct reading *r) {
    struct cw_air_log *log = r->log;
    if (log->n == CW_AIR_LOG_ROWS_MOST)
        return wrong(r, "the log has more than %d rows: cut it to the outing's day",
                     CW_AIR_LOG_ROWS_MOST);
    if (log->n < r->capacity) return CW_OK;
    r->capacity = r->capacity ? 2 * r->capacity : 1024;
    if (!grow(&log->to_s, r->capacity)) return cw_error_memory(r->error);
    for (size_t i = 0; i < r->n; i++)
        if (r->column[i] && !grow(values(log, r->column[i]), r->capacity))
            return cw_error_memory(r->error);
    return CW_OK;
}

static enum cw_status read_time(const struct reading *r, double *time_s) {
    const struct cw_cell *cell = &r->cells.at[r->time];
    const struct cw_air_log *log = r->log;
    char text[SHOWN_LONGEST + 1], before[40];
    if (!cell->length) return wrong(r, "the row has no time");
    if (!cw_time_read_local(cell->text, cell->length, r->utc_offset_s, time_s))
        return wrong(r,
                     "time is \"%s\": write it as 2024-05-11T09:30:00 or, with its offset from "
                     "UTC, as 2024-05-11T09:30:00+02:00",
                     shown(cell, text));
    if (log->n == 0 || *time_s > log->to_s[log->n - 1]) return CW_OK;
    cw_time_write(log->to_s[log->n - 1], before, sizeof before);
    return wrong(r,
                 "time is \"%s\", which is not after %s in line %ld: put the rows in order, each "
                 "with a time of its own",
                 shown(cell, text), before, r->line);
}

#define NUMBER_LONGEST 63

/* With a decimal comma where commas part no cells. */
static bool read_number(const struct reading *r, const struct cw_cell *cell, double *number) {
    char copy[NUMBER_LONGEST];
    const char *comma = memchr(cell->text, ',', cell->length);
    if (!comma || r->cells.separator == ',' || cell->length > sizeof copy)
        return cw_number_read(cell->text, cell->length, number);
    memcpy(copy, cell->text, cell->length);
    copy[comma - cell->text] = '.';
    return cw_number_read(copy, cell->length, number);
}

static enum cw_status read_value(struct reading *r, size_t i) {
    const struct cw_air_log_column *column = r->column[i];
    const struct cw_cell *cell = &r->cells.at[i];
    double *value = &(*values(r->log, column))[r->log->n];
    char text[SHOWN_LONGEST + 1];
    *value = NAN;
    if (!cell->length) return CW_OK;
    if (!read_number(r, cell, value))
        return wrong(r, "%s is \"%s\": give a number from %g to %g %s%s", column->name,
                     shown(cell, text), r->low[i], r->high[i], column->unit,
                     r->cells.separator == ',' && memchr(cell->text, ',', cell->length)
                         ? " with a point; decimal commas need semicolons between the cells"
                         : ", or leave the cell blank");
    if (*value < r->low[i] || *value > r->high[i])
        return wrong(r, "%s is %s: it must be from %g to %g %s", column->name, shown(cell, text),
                     r->low[i], r->high[i], column->unit);
    *value /= column->per_si;
    r->any = true;
    return CW_OK;
}

static enum cw_status read_row(struct reading *r) {
    double time_s;
    if (r->cells.n != r->n)
        return wrong(r, "the row has %zu cell%s, the header %zu: %s", r->cells.n,
                     r->cells.n == 1 ? "" : "s", r->n,
                     r->cells.n > r->n && r->cells.separator == ','
                         ? "decimal commas need semicolons between the cells"
                         : "give a cell for each column, blank where nothing was measured");
    enum cw_status status = reserve(r);
    if (!status) status = read_time(r, &time_s);
    for (size_t i = 0; i < r->n && !status; i++)
        if (r->column[i]) status = read_value(r, i);
    if (status) return status;
    r->log->to_s[r->log->n++] = time_s;
    r->line = r->cells.line;
    return CW_OK;
}

/* ---- what rows hold ---- */

/* A span of more usual steps than this is a gap. */
static const double gap_steps = 3;

/* A row is the mean since the row before. After a gap it is not: a logger that was off or lost its
 * sensor knows nothing of that time, so that the row holds a usual step, as the first does. */
static enum cw_status set_spans(struct reading *r) {
    struct cw_air_log *log = r->log;
    double *steps_s = malloc(log->n * sizeof *steps_s);
    log->from_s = malloc(log->n * sizeof *log->from_s);
    if (!steps_s || !log->from_s) {
        free(steps_s);
        return cw_error_memory(r->error);
    }
    for (size_t i = 1; i < log->n; i++) steps_s[i - 1] = log->to_s[i] - log->to_s[i - 1];
    double usual_s = cw_median(steps_s, log->n - 1);
    free(steps_s);
    log->from_s[0] = log->to_s[0] - usual_s;
    for (size_t i = 1; i < log->n; i++) {
        bool gap = log->to_s[i] - log->to_s[i - 1] > gap_steps * usual_s;
        log->from_s[i] = gap ? log->to_s[i] - usual_s : log->to_s[i - 1];
    }
    return CW_OK;
}

static enum cw_status check_rows(const struct reading *r) {
    const char *fault = r->log->n == 0   ? "holds a header and no rows: is it whole?"
                        : r->log->n == 1 ? "holds one row, which cannot say since when its means "
                                           "are: give two, or put its values into [air]"
                        : !r->any        ? "holds no value, only times"
                                         : NULL;
    if (!fault) return CW_OK;
    return cw_error_set(r->error, CW_E_FORMAT, r->log->file, 0, "%s", fault);
}

/* ---- the whole ---- */

enum cw_status cw_air_log_read_source(struct cw_source *source, double utc_offset_s,
                                      struct cw_air_log *log, struct cw_error *error) {
    struct reading *r = calloc(1, sizeof *r);
    *log = (struct cw_air_log){0};
    log->file = strdup(cw_source_name(source));
    enum cw_status status = r && log->file ? CW_OK : cw_error_memory(error);
    if (status) goto cleanup;
    r->cells.source = source;
    r->log = log;
    r->utc_offset_s = utc_offset_s;
    r->error = error;
    status = read_header(r);
    while (!status) {
        status = cw_cells_next(&r->cells, error);
        if (status || r->cells.n == 0) break;
        status = read_row(r);
    }
    if (!status) status = check_rows(r);
    if (!status) status = set_spans(r);
cleanup:
    free(r);
    return status;
}

enum cw_status cw_air_log_read(const char *path, double utc_offset_s, struct cw_air_log *log,
                               struct cw_error *error) {
    struct cw_source *source = NULL;
    *log = (struct cw_air_log){0};
    enum cw_status status = cw_source_open(path, &source, error);
    if (!status) status = cw_air_log_read_source(source, utc_offset_s, log, error);
    cw_source_close(source);
    return status;
}

enum cw_status cw_air_log_read_memory(const void *bytes, size_t length, const char *name,
                                      double utc_offset_s, struct cw_air_log *log,
                                      struct cw_error *error) {
    struct cw_source *source = NULL;
    *log = (struct cw_air_log){0};
    enum cw_status status = cw_source_open_memory(bytes, length, name, &source, error);
    if (!status) status = cw_air_log_read_source(source, utc_offset_s, log, error);
    cw_source_close(source);
    return status;
}
