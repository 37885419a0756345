#include "report/csv.h"

#include <math.h>
#include <string.h>

static void separate(struct cw_csv *csv) {
    if (csv->in_row) cw_text_add(csv->out, ",");
    csv->in_row = true;
}

void cw_csv_add(struct cw_csv *csv, const char *field) {
    separate(csv);
    if (!field) return;
    if (!strpbrk(field, ",\"\r\n")) {
        cw_text_add(csv->out, "%s", field);
        return;
    }
    cw_text_add(csv->out, "\"");
    for (const char *c = field; *c; c++) {
        if (*c == '"') cw_text_add(csv->out, "\"");
        cw_text_add_bytes(csv->out, c, 1);
    }
    cw_text_add(csv->out, "\"");
}

void cw_csv_add_number(struct cw_csv *csv, double value) {
    separate(csv);
    if (!isfinite(value)) return;
    double decimals = value == 0 ? 0 : 9 - floor(log10(fabs(value)));
    cw_text_add_number(csv->out, value, (int)fmin(fmax(decimals, 0), 17));
}

void cw_csv_end_row(struct cw_csv *csv) {
    cw_text_add(csv->out, "\r\n");
    csv->in_row = false;
}

void cw_csv_add_heads(struct cw_csv *csv, const char *const *heads, size_t n) {
    for (size_t i = 0; i < n; i++) cw_csv_add(csv, heads[i]);
    cw_csv_end_row(csv);
}
