/* A file of cells, row by row: lines of text with commas, semicolons or tabs between the cells. */
#ifndef CW_OUTING_CELLS_H
#define CW_OUTING_CELLS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "recording/source.h"

#define CW_CELLS_MOST 256           /* in a row */
#define CW_CELLS_LINE_LONGEST 16384 /* bytes */

struct cw_cell {
    const char *text; /* not ended by '\0' */
    size_t length;
};

/* All zero but for the source: nothing is read yet. */
struct cw_cells {
    struct cw_source *source;
    char separator; /* of the whole file, once its first row is read */
    size_t rows;    /* read so far */
    long line;      /* of the last, from 1 */
    size_t n;
    struct cw_cell at[CW_CELLS_MOST]; /* the row's, until the next is read */
    bool begun, ended;                /* of the source */
    size_t next, filled;              /* of buffer: where the next line begins, and what is read */
    char buffer[4 * CW_CELLS_LINE_LONGEST];
};

/* Reads the next row that is not blank; n is 0 at the end. A line ends in LF, CR LF or CR; a byte
 * order mark is passed over. The separator is the one that parts the first row into the most cells.
 * Blanks around a cell, and quotation marks, as RFC 4180 has them, are taken off; a quoted cell
 * ends on its line. CW_E_FORMAT with file and line: a line or a row too long, control characters,
 * quotation marks that don't close, a gzip that is damaged; CW_E_READ, CW_E_MEMORY. */
enum cw_status cw_cells_next(struct cw_cells *cells, struct cw_error *error);

#endif
