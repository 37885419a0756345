/* What must be written down on the hill: the sheet's boxes, for text and page alike. */
#ifndef CW_REPORT_PLAN_SHEET_H
#define CW_REPORT_PLAN_SHEET_H

#include <stdbool.h>
#include <stddef.h>

#include "report/look.h"

struct cw_sheet_box {
    const char *what, *unit[2]; /* constants, by enum cw_units; "" where there is no unit */
    bool after;                 /* to be read again when all runs are ridden */
};
/* The i-th box, from 0; NULL behind the last. */
const struct cw_sheet_box *cw_sheet_box_at(size_t i);

/* The columns beside each run, likewise: what is written there, and its unit. */
struct cw_sheet_column {
    const char *head, *unit[2];
    size_t width; /* in a sheet of text */
};
const struct cw_sheet_column *cw_sheet_column_at(size_t i);

#endif
