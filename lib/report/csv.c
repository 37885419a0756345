#include "report/csv.h"

#include <math.h>
#include <string.h>

#include "base/utf8.h"

static void separate(struct cw_csv *csv) {
    if (csv->in_row) cw_text_add(csv->out, ",");
    csv->in_row = true;
}

void cw_csv_add(struct cw_csv *csv, const char *field) {
    separate(csv);
    if (!field) return;
    struct cw_text shown = {0};
    char first = field[strspn(field, " ")];
    if (first && strchr("=+-@", first)) cw_text_add(&shown, "'");
    cw_utf8_add_shown(&shown, field);
    bool quoted = shown.bytes && strpbrk(shown.bytes, ",\"");
    if (quoted) cw_text_add(csv->out, "\"");
    for (const char *c = shown.bytes; c && *c; c++) {
        if (*c == '"') cw_text_add(csv->out, "\"");
        cw_text_add_bytes(csv->out, c, 1);
    }
    if (quoted) cw_text_add(csv->out, "\"");
    if (shown.failed) csv->out->failed = true;
    cw_text_free(&shown);
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
