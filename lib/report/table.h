/* Tables for people: aligned columns, units in the heads. */
#ifndef CW_REPORT_TABLE_H
#define CW_REPORT_TABLE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

struct cw_column {
    const char *head;
    const char *unit; /* below the head; "" if none */
    bool right;       /* numbers stand to the right */
};

/* Cells are added row by row, left to right. Set columns and n_columns (1 to 32), leave the
 * rest zero. */
struct cw_table {
    const struct cw_column *columns;
    size_t n_columns;
    size_t n_cells;
    struct cw_text cells; /* each ends in '\0' */
};

/* Adds a cell. Control characters and what is not UTF-8 are shown as "?". */
void cw_table_add(struct cw_table *table, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Adds a number with that many decimals; NaN is shown as "-". */
void cw_table_add_number(struct cw_table *table, double value, int decimals);
/* Adds a name; "-" for NULL, where there is none. */
void cw_table_add_name(struct cw_table *table, const char *name);
/* Adds a speed in km/h, to a tenth. */
#define CW_KMH_PER_MS 3.6
void cw_table_add_kmh(struct cw_table *table, double speed_ms);
/* Adds the table to out: heads, units where a column has one, rows, two blanks between columns. */
void cw_table_write(const struct cw_table *table, struct cw_text *out);
void cw_table_free(struct cw_table *table);

#endif
