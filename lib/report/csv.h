/* Comma-separated values as RFC 4180 has them: CR LF line ends, quotes where needed. */
#ifndef CW_REPORT_CSV_H
#define CW_REPORT_CSV_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

struct cw_csv {
    struct cw_text *out;
    bool in_row; /* a field of this row was written */
};

/* The heads, a row. */
void cw_csv_add_heads(struct cw_csv *csv, const char *const *heads, size_t n);
/* A field; NULL is an empty one. Controls in it become "?" (cw_utf8_add_shown), so that a row is a
 * line. One that a spreadsheet would take for a formula and run has a ' before it, as OWASP's page
 * "CSV Injection" has it (from memory). */
void cw_csv_add(struct cw_csv *csv, const char *field);
/* A number with up to 10 significant digits; what is not finite is an empty field. */
void cw_csv_add_number(struct cw_csv *csv, double value);
void cw_csv_end_row(struct cw_csv *csv);

#endif
