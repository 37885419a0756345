/* A table as HTML: the same cells as for a terminal (report/table.h), with caption and heads. */
#ifndef CW_PAGE_HTML_TABLE_H
#define CW_PAGE_HTML_TABLE_H

#include <stddef.h>

#include "base/text.h"
#include "report/table.h"

struct cw_html_table {
    const char *id;      /* unique on the page */
    const char *caption; /* markup */
    /* For rows that are runs: each row's "O.N", as the pictures have it in data-run; "" for a row
     * that is none. NULL where no row is a run. */
    const char *const *runs;
};

/* Adds the table in a box that scrolls by itself where it is too wide. The first column heads its
 * row. */
void cw_html_table_add(const struct cw_html_table *html, const struct cw_table *table,
                       struct cw_text *text);

#endif
