#include "report/table.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "base/print.h"
#include "base/utf8.h"
#include "report/units.h"

static void add_cell(struct cw_table *table, const char *string) {
    cw_utf8_add_shown(&table->cells, string);
    cw_text_add_bytes(&table->cells, "", 1);
    table->n_cells++;
}

void cw_table_add(struct cw_table *table, const char *format, ...) {
    char string[1024];
    va_list arguments;
    va_start(arguments, format);
    cw_print_v(string, sizeof string, format, arguments);
    va_end(arguments);
    add_cell(table, string);
}

static void add_number(struct cw_table *table, double value, const struct cw_unit_shown *shown,
                       int decimals) {
    char string[64];
    if (isnan(value)) {
        add_cell(table, "-");
        return;
    }
    cw_print(string, sizeof string, "%.*f", cw_unit_decimals(shown, decimals),
             value * shown->factor + shown->offset);
    /* A small negative number rounds to "-0.00", which only puzzles. */
    if (string[0] == '-' && !strpbrk(string, "123456789"))
        memmove(string, string + 1, strlen(string));
    add_cell(table, string);
}

void cw_table_add_number(struct cw_table *table, double value, int decimals) {
    const struct cw_column *column = &table->columns[table->n_cells % table->n_columns];
    const struct cw_unit_shown shown = cw_unit_shown(table->units, column->unit);
    add_number(table, value, &shown, decimals);
}

void cw_table_add_in(struct cw_table *table, double value, const char *unit, int decimals) {
    const struct cw_unit_shown shown = cw_unit_shown_apart(table->units, unit);
    add_number(table, value, &shown, decimals);
}

void cw_table_add_row_head(struct cw_table *table, const char *head, const char *unit) {
    struct cw_text said = {0};
    cw_units_say(&said, head, table->units);
    cw_table_add(table, *unit ? "%s, %s" : "%s", said.bytes ? said.bytes : "",
                 cw_unit_shown(table->units, unit).unit);
    if (said.failed) table->cells.failed = true;
    cw_text_free(&said);
}

const char *cw_table_unit(const struct cw_table *table, size_t column) {
    return cw_unit_shown(table->units, table->columns[column].unit).unit;
}

void cw_table_add_name(struct cw_table *table, const char *name) {
    add_cell(table, name ? name : "-");
}

void cw_table_add_kmh(struct cw_table *table, double speed_ms) {
    cw_table_add_number(table, speed_ms * CW_KMH_PER_MS, 1);
}

/* ---- layout: what fits beside what ---- */

enum { COLUMNS_MAX = 32, BETWEEN = 2, NARROWEST = 16 };

struct layout {
    const struct cw_table *table;
    const char **cells;
    struct cw_text heads[COLUMNS_MAX];
    size_t rows, room;
    size_t widths[COLUMNS_MAX];
    size_t at[COLUMNS_MAX], n; /* the columns of the block that is written */
};

static const char *head_of(const struct layout *layout, size_t column) {
    return layout->heads[column].bytes ? layout->heads[column].bytes : "";
}

/* A drawing stays whole. */
static bool is_drawing(const char *cell) {
    return *cell == ' ' || *cell == '|' || !strncmp(cell, "├", strlen("├"));
}

/* The first piece of a cell's text that is no wider than that, at a blank where there is one; a
 * word that is wider itself is cut. */
static size_t piece(const char *text, size_t width) {
    size_t length = strlen(text), at = 0, taken = 0, blank = 0;
    if (is_drawing(text) || cw_utf8_width(text) <= width) return length;
    while (at < length) {
        char one[5] = "";
        unsigned character;
        size_t bytes = cw_utf8_next(text + at, length - at, &character);
        if (!bytes) bytes = 1;
        memcpy(one, text + at, bytes);
        if (*one == ' ') blank = at;
        taken += cw_utf8_width(one);
        if (taken > width) break;
        at += bytes;
    }
    if (blank) return blank;
    return at ? at : length;
}

static size_t column_width(const struct layout *layout, size_t column) {
    const struct cw_table *table = layout->table;
    size_t widest = cw_utf8_width(head_of(layout, column));
    size_t unit = cw_utf8_width(cw_table_unit(table, column));
    if (unit > widest) widest = unit;
    for (size_t row = 0; row < layout->rows; row++) {
        size_t width = cw_utf8_width(layout->cells[row * table->n_columns + column]);
        if (width > widest) widest = width;
    }
    return widest;
}

/* The widest of a text's words, or all of it where it stays whole. */
static size_t widest_word(const char *text) {
    size_t widest = 0;
    if (is_drawing(text)) return cw_utf8_width(text);
    for (size_t length; *text; text += length + (text[length] == ' ')) {
        char word[1024];
        length = strcspn(text, " ");
        cw_print(word, sizeof word, "%.*s", (int)length, text);
        size_t width = cw_utf8_width(word);
        if (width > widest) widest = width;
    }
    return widest;
}

/* A column of words may be narrower than they are: they go on in lines below. Words themselves are
 * cut only where nothing else helps. */
static size_t least_width(const struct layout *layout, size_t column, bool cut) {
    size_t width = layout->widths[column], least = NARROWEST;
    if (layout->table->columns[column].right || width <= NARROWEST) return width;
    size_t head = cw_utf8_width(head_of(layout, column));
    if (head > least) least = head;
    for (size_t row = 0; row < layout->rows; row++) {
        const char *cell = layout->cells[row * layout->table->n_columns + column];
        size_t whole = cut && !is_drawing(cell) ? 0 : widest_word(cell);
        if (whole > least) least = whole;
    }
    return least < width ? least : width;
}

/* Makes the widest columns of words narrower, where that brings the n columns into the room. */
static bool squeeze(struct layout *layout, const size_t *columns, size_t n, bool cut) {
    size_t total = (n - 1) * BETWEEN, least = total;
    for (size_t k = 0; k < n; k++) {
        total += layout->widths[columns[k]];
        least += least_width(layout, columns[k], cut);
    }
    if (total <= layout->room) return true;
    if (least > layout->room) return false;
    while (total > layout->room) {
        size_t widest = columns[0], most = 0;
        for (size_t k = 0; k < n; k++) {
            size_t width = layout->widths[columns[k]];
            if (least_width(layout, columns[k], cut) == width || width <= most) continue;
            widest = columns[k];
            most = width;
        }
        layout->widths[widest]--;
        total--;
    }
    return true;
}

/* ---- writing ---- */

/* One padded piece; blanks are held back in *owed, so that no line ends in them. */
static void write_piece(struct cw_text *out, size_t *owed, size_t width, bool right,
                        const char *text, size_t length) {
    char whole[1024];
    cw_print(whole, sizeof whole, "%.*s", (int)length, text);
    size_t taken = cw_utf8_width(whole), pad = width > taken ? width - taken : 0;
    if (right) *owed += pad;
    if (*whole) {
        cw_text_add(out, "%*s%s", (int)*owed, "", whole);
        *owed = 0;
    }
    if (!right) *owed += pad;
    *owed += BETWEEN;
}

/* A row of the block, over as many lines as its longest cell takes. */
static void write_row(const struct layout *layout, const char *const *cells, struct cw_text *out) {
    const char *left[COLUMNS_MAX];
    bool more = true;
    for (size_t k = 0; k < layout->n; k++) left[k] = cells[layout->at[k]];
    while (more) {
        size_t owed = 0;
        more = false;
        for (size_t k = 0; k < layout->n; k++) {
            size_t column = layout->at[k], width = layout->widths[column];
            size_t length = piece(left[k], width);
            write_piece(out, &owed, width, layout->table->columns[column].right, left[k], length);
            left[k] += length;
            if (length && *left[k] == ' ') left[k]++;
            if (*left[k]) more = true;
        }
        cw_text_add(out, "\n");
    }
}

static void write_block(const struct layout *layout, struct cw_text *out) {
    const struct cw_table *table = layout->table;
    const char *heads[COLUMNS_MAX], *below[COLUMNS_MAX];
    bool units = false;
    for (size_t i = 0; i < table->n_columns; i++) {
        heads[i] = head_of(layout, i);
        below[i] = cw_table_unit(table, i);
    }
    for (size_t k = 0; k < layout->n; k++) units |= *cw_table_unit(table, layout->at[k]) != '\0';
    write_row(layout, heads, out);
    if (units) write_row(layout, below, out);
    for (size_t row = 0; row < layout->rows; row++)
        write_row(layout, layout->cells + row * table->n_columns, out);
}

/* A value's error and interval are not parted from it. */
static bool belongs_before(const struct cw_column *column) {
    static const char *const heads[] = {"±", "+-", "sd", "95 % from", "to"};
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++)
        if (!strcmp(column->head, heads[i])) return true;
    return false;
}

/* The columns that are in every block, and those from `next` on that fit beside them; returns the
 * first that does not. */
static size_t fill_block(struct layout *layout, size_t keys, size_t next) {
    size_t first = next;
    layout->n = 0;
    for (size_t i = 0; i < keys; i++) layout->at[layout->n++] = i;
    for (; next < layout->table->n_columns; next++) {
        layout->at[layout->n] = next;
        if (!squeeze(layout, layout->at, layout->n + 1, layout->n <= keys) && layout->n > keys)
            break;
        layout->n++;
    }
    size_t whole = next;
    while (whole < layout->table->n_columns && whole > keys &&
           belongs_before(&layout->table->columns[whole]))
        whole--;
    if (whole > first) {
        layout->n -= next - whole;
        next = whole;
    }
    return next;
}

static void write_blocks(struct layout *layout, struct cw_text *out) {
    const struct cw_table *table = layout->table;
    size_t all[COLUMNS_MAX], keys = table->keys ? table->keys : 1;
    for (size_t i = 0; i < table->n_columns; i++) {
        layout->widths[i] = column_width(layout, i);
        all[i] = i;
    }
    if (squeeze(layout, all, table->n_columns, false)) keys = 0;
    for (size_t next = keys; next < table->n_columns;) {
        if (next > keys) cw_text_add(out, "\n");
        next = fill_block(layout, keys, next);
        write_block(layout, out);
    }
}

void cw_table_write(const struct cw_table *table, const struct cw_look *look, struct cw_text *out) {
    struct layout layout = {.table = table, .room = look->columns};
    const char *cell = table->cells.bytes;
    if (table->cells.failed || !table->n_columns || table->n_columns > COLUMNS_MAX) {
        out->failed = true;
        return;
    }
    layout.rows = table->n_cells / table->n_columns;
    layout.cells = calloc(table->n_cells + 1, sizeof *layout.cells);
    if (!layout.cells) {
        out->failed = true;
        return;
    }
    for (size_t i = 0; i < table->n_cells; i++, cell += strlen(cell) + 1) layout.cells[i] = cell;
    for (size_t i = 0; i < table->n_columns; i++)
        cw_units_say(&layout.heads[i], table->columns[i].head, table->units);
    write_blocks(&layout, out);
    for (size_t i = 0; i < table->n_columns; i++) {
        if (layout.heads[i].failed) out->failed = true;
        cw_text_free(&layout.heads[i]);
    }
    free(layout.cells);
}

void cw_table_free(struct cw_table *table) {
    cw_text_free(&table->cells);
    table->n_cells = 0;
}
