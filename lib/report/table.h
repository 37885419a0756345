/* Tables for people: aligned columns, units in the heads. */
#ifndef CW_REPORT_TABLE_H
#define CW_REPORT_TABLE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"
#include "report/look.h"

struct cw_column {
    const char *head;
    const char *unit; /* that its numbers are in, below the head; "" if none */
    bool right;       /* numbers stand to the right */
};

/* Cells are added row by row, left to right. Set columns and n_columns (1 to 32), and keys where
 * the first column alone does not say whose a row is; leave the rest zero. */
struct cw_table {
    const struct cw_column *columns;
    size_t n_columns;
    size_t keys;         /* so many columns are repeated where a table is wider than the terminal */
    enum cw_units units; /* that numbers are shown in */
    size_t n_cells;
    struct cw_text cells; /* each ends in '\0' */
};

/* Adds a cell. Control characters and what is not UTF-8 are shown as "?". */
void cw_table_add(struct cw_table *table, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Adds a number in its column's unit with that many decimals, shown in the table's units; NaN is
 * shown as "-". */
void cw_table_add_number(struct cw_table *table, double value, int decimals);
/* The same where a row has a unit, not a column: its head and its numbers. */
void cw_table_add_row_head(struct cw_table *table, const char *head, const char *unit);
void cw_table_add_in(struct cw_table *table, double value, const char *unit, int decimals);
/* How a column's unit is shown. */
const char *cw_table_unit(const struct cw_table *table, size_t column);
/* Adds a name; "-" for NULL, where there is none. */
void cw_table_add_name(struct cw_table *table, const char *name);
/* Adds a speed in km/h, to a tenth. */
#define CW_KMH_PER_MS 3.6
void cw_table_add_kmh(struct cw_table *table, double speed_ms);
/* Adds the table to out: heads, units where a column has one, rows, two blanks between columns.
 * Where it is wider than the terminal, words go on in lines below; where that does not do, the
 * columns that don't fit follow below the others, beside the first ones again. */
void cw_table_write(const struct cw_table *table, const struct cw_look *look, struct cw_text *out);
void cw_table_free(struct cw_table *table);

#endif
