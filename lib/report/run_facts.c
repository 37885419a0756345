#include "report/run_facts.h"

void cw_run_extent_add(struct cw_table *table, const struct cw_run *run) {
    cw_table_add_number(table, run->duration_s, 0);
    cw_table_add_number(table, run->distance_m, 0);
    cw_table_add_number(table, run->drop_m, 1);
}

void cw_run_speeds_add(struct cw_table *table, const struct cw_run *run) {
    cw_table_add_kmh(table, run->entry_speed_ms);
    cw_table_add_kmh(table, run->top_speed_ms);
    cw_table_add_kmh(table, run->exit_speed_ms);
    cw_table_add(table, "%s", cw_run_end_text(run->ends));
}

void cw_reasons_add(struct cw_text *text, unsigned reasons, const char *separator) {
    const char *between = "";
    for (int i = 0; i < CW_REASON_COUNT; i++) {
        if (!(reasons & 1U << i)) continue;
        cw_text_add(text, "%s%s", between, cw_run_reason_text((enum cw_run_reason)(1U << i)));
        between = separator;
    }
}

void cw_table_add_reasons(struct cw_table *table, unsigned reasons) {
    struct cw_text text = {0};
    cw_reasons_add(&text, reasons, ", ");
    cw_table_add(table, "%s", text.bytes ? text.bytes : "");
    if (text.failed) table->cells.failed = true;
    cw_text_free(&text);
}
