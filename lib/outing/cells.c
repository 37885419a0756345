#include "outing/cells.h"

#include <string.h>

#include "base/utf8.h"

static enum cw_status refuse(const struct cw_cells *cells, struct cw_error *error,
                             const char *message) {
    return cw_error_set(error, CW_E_FORMAT, cw_source_name(cells->source), cells->line, "%s",
                        message);
}

/* ---- lines ---- */

/* Moves what is left to the front of the buffer and fills the rest. */
static enum cw_status refill(struct cw_cells *cells, struct cw_error *error) {
    size_t got;
    cells->filled -= cells->next;
    memmove(cells->buffer, cells->buffer + cells->next, cells->filled);
    cells->next = 0;
    size_t room = sizeof cells->buffer - cells->filled;
    enum cw_status status =
        cw_source_read(cells->source, cells->buffer + cells->filled, room, &got, error);
    if (status) return status;
    cells->filled += got;
    cells->ended = got < room;
    if (cells->ended && cw_source_fault(cells->source) != CW_SOURCE_WHOLE)
        return cw_error_set(error, CW_E_FORMAT, cw_source_name(cells->source), 0,
                            "the gzip is cut short or damaged: copy the file again");
    if (!cells->begun && cells->filled >= 3 && !memcmp(cells->buffer, "\xef\xbb\xbf", 3))
        cells->next = 3;
    cells->begun = true;
    return CW_OK;
}

/* Length of the line at hand, with its end in *whole; false where more must be read to know it. */
static bool find_line(const struct cw_cells *cells, size_t *length, size_t *whole) {
    const char *start = cells->buffer + cells->next;
    size_t left = cells->filled - cells->next, at = 0;
    while (at < left && start[at] != '\n' && start[at] != '\r') at++;
    *length = *whole = at;
    if (at > CW_CELLS_LINE_LONGEST) return true; /* to be refused */
    if (at == left) return cells->ended;
    bool pair_possible = start[at] == '\r';
    if (pair_possible && at + 1 == left && !cells->ended) return false;
    *whole += pair_possible && at + 1 < left && start[at + 1] == '\n' ? 2 : 1;
    return true;
}

/* *line is NULL at the end. */
static enum cw_status next_line(struct cw_cells *cells, char **line, size_t *length,
                                struct cw_error *error) {
    size_t whole;
    *line = NULL;
    if (!cells->begun) {
        enum cw_status status = refill(cells, error);
        if (status) return status;
    }
    while (!find_line(cells, length, &whole)) {
        enum cw_status status = refill(cells, error);
        if (status) return status;
    }
    if (whole == 0) return CW_OK;
    cells->line++;
    if (*length > CW_CELLS_LINE_LONGEST)
        return refuse(cells, error, "the line is longer than 16384 bytes: is this an air log?");
    *line = cells->buffer + cells->next;
    cells->next += whole;
    if (cw_utf8_has_control(*line, *length))
        return refuse(cells, error,
                      "the line holds a control character: save the log as CSV text in UTF-8");
    return CW_OK;
}

/* ---- cells ---- */

static bool is_blank(char c) {
    return c == ' ' || c == '\t';
}

/* What stands between quotation marks parts nothing. */
static char find_separator(const char *line, size_t length) {
    static const char separators[] = {',', ';', '\t'};
    size_t count[sizeof separators] = {0}, most = 0;
    bool quoted = false;
    for (size_t i = 0; i < length; i++) {
        if (line[i] == '"') quoted = !quoted;
        for (size_t k = 0; k < sizeof separators; k++)
            count[k] += !quoted && line[i] == separators[k];
    }
    for (size_t k = 1; k < sizeof separators; k++)
        if (count[k] > count[most]) most = k;
    return separators[most];
}

/* Reads the quoted cell that begins at line[at], in its place; *at is then behind it. NULL or what
 * is wrong. */
static const char *take_quoted(char *line, size_t length, size_t *at, struct cw_cell *cell) {
    char *to = line + *at;
    size_t from = *at + 1;
    cell->text = to;
    for (;; from++) {
        if (from == length) return "a quotation mark is not closed on its line: close it with \"";
        if (line[from] == '"' && (++from == length || line[from] != '"')) break;
        *to++ = line[from];
    }
    cell->length = (size_t)(to - cell->text);
    *at = from;
    return NULL;
}

static void take_plain(const char *line, size_t length, char separator, size_t *at,
                       struct cw_cell *cell) {
    size_t end = *at;
    cell->text = line + *at;
    while (end < length && line[end] != separator) end++;
    cell->length = end - *at;
    *at = end;
    while (cell->length && is_blank(cell->text[cell->length - 1])) cell->length--;
}

static enum cw_status split(struct cw_cells *cells, char *line, size_t length,
                            struct cw_error *error) {
    char separator = cells->separator;
    for (size_t at = 0;; at++) {
        if (cells->n == CW_CELLS_MOST)
            return refuse(cells, error, "the row has more than 256 cells: is this an air log?");
        struct cw_cell *cell = &cells->at[cells->n++];
        while (at < length && is_blank(line[at]) && line[at] != separator) at++;
        if (at < length && line[at] == '"') {
            const char *fault = take_quoted(line, length, &at, cell);
            if (fault) return refuse(cells, error, fault);
            while (at < length && is_blank(line[at]) && line[at] != separator) at++;
            if (at < length && line[at] != separator)
                return refuse(cells, error, "text follows a closing quotation mark in its cell");
        } else {
            take_plain(line, length, separator, &at, cell);
        }
        if (at == length) return CW_OK;
    }
}

static bool blank_row(const struct cw_cells *cells) {
    for (size_t i = 0; i < cells->n; i++)
        if (cells->at[i].length) return false;
    return true;
}

enum cw_status cw_cells_next(struct cw_cells *cells, struct cw_error *error) {
    char *line;
    size_t length;
    do {
        cells->n = 0;
        enum cw_status status = next_line(cells, &line, &length, error);
        if (status || !line) return status;
        if (!cells->rows) cells->separator = find_separator(line, length);
        status = split(cells, line, length, error);
        if (status) return status;
    } while (blank_row(cells));
    cells->rows++;
    return CW_OK;
}
