#include "report/table.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "base/print.h"
#include "base/utf8.h"

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

void cw_table_add_number(struct cw_table *table, double value, int decimals) {
    char string[64];
    if (isnan(value)) {
        add_cell(table, "-");
        return;
    }
    cw_print(string, sizeof string, "%.*f", decimals, value);
    /* A small negative number rounds to "-0.00", which only puzzles. */
    if (string[0] == '-' && !strpbrk(string, "123456789"))
        memmove(string, string + 1, strlen(string));
    add_cell(table, string);
}

void cw_table_add_name(struct cw_table *table, const char *name) {
    add_cell(table, name ? name : "-");
}

void cw_table_add_kmh(struct cw_table *table, double speed_ms) {
    cw_table_add_number(table, speed_ms * CW_KMH_PER_MS, 1);
}

static const char *next_cell(const char *cell) {
    return cell + strlen(cell) + 1;
}

static size_t column_width(const struct cw_table *table, size_t column) {
    size_t widest = cw_utf8_width(table->columns[column].head);
    size_t unit = cw_utf8_width(table->columns[column].unit);
    if (unit > widest) widest = unit;
    const char *cell = table->cells.bytes;
    for (size_t i = 0; i < table->n_cells; i++, cell = next_cell(cell)) {
        if (i % table->n_columns != column) continue;
        size_t width = cw_utf8_width(cell);
        if (width > widest) widest = width;
    }
    return widest;
}

/* One padded cell; blanks are held back in *owed, so that no line ends in them. */
static void write_cell(struct cw_text *out, size_t *owed, size_t width, bool right,
                       const char *cell) {
    size_t pad = width - cw_utf8_width(cell);
    if (right) *owed += pad;
    if (*cell) {
        cw_text_add(out, "%*s%s", (int)*owed, "", cell);
        *owed = 0;
    }
    if (!right) *owed += pad;
    *owed += 2;
}

static void write_heads(const struct cw_table *table, const size_t *widths, bool units,
                        struct cw_text *out) {
    size_t owed = 0;
    for (size_t i = 0; i < table->n_columns; i++) {
        const struct cw_column *column = &table->columns[i];
        write_cell(out, &owed, widths[i], column->right, units ? column->unit : column->head);
    }
    cw_text_add(out, "\n");
}

#define COLUMNS_MAX 32

void cw_table_write(const struct cw_table *table, struct cw_text *out) {
    size_t widths[COLUMNS_MAX] = {0}, owed = 0;
    bool units = false;
    if (table->cells.failed || !table->n_columns || table->n_columns > COLUMNS_MAX) {
        out->failed = true;
        return;
    }
    for (size_t i = 0; i < table->n_columns; i++) {
        widths[i] = column_width(table, i);
        if (*table->columns[i].unit) units = true;
    }
    write_heads(table, widths, false, out);
    if (units) write_heads(table, widths, true, out);
    const char *cell = table->cells.bytes;
    for (size_t i = 0; i < table->n_cells; i++, cell = next_cell(cell)) {
        size_t column = i % table->n_columns;
        write_cell(out, &owed, widths[column], table->columns[column].right, cell);
        if (column + 1 == table->n_columns) {
            cw_text_add(out, "\n");
            owed = 0;
        }
    }
}

void cw_table_free(struct cw_table *table) {
    cw_text_free(&table->cells);
    table->n_cells = 0;
}
