#include "report/budget_table.h"

#include <math.h>
#include <string.h>

#include "report/units.h"

const char *cw_budget_unit(const struct cw_cause_effect *cause, const struct cw_signs *sign) {
    return strcmp(cause->unit, "C") ? cause->unit : sign->celsius;
}

/* A cause and how far it may be off. */
static void add_off(struct cw_table *table, const char *cause, double off, const char *unit) {
    cw_table_add_row_head(table, cause, cw_unit_shown(table->units, unit).unit);
    cw_table_add(table, CW_BUDGET_OFF, off * cw_unit_shown_apart(table->units, unit).factor);
}

void cw_budget_rows(const struct cw_compare *compare, const struct cw_signs *sign,
                    struct cw_table *table) {
    bool pair = compare->n_comparisons > 0;
    double crr = 0;
    for (size_t i = 0; i < compare->n_causes; i++) {
        const struct cw_cause_effect *cause = &compare->causes[i];
        add_off(table, cause->name, cause->uncertainty, cw_budget_unit(cause, sign));
        cw_table_add_number(table, cause->cda_percent, CW_BUDGET_DECIMALS);
        cw_table_add_number(table, cause->crr, 5);
        if (pair) cw_table_add_number(table, cause->difference_percent, CW_BUDGET_DECIMALS);
        crr += cause->crr * cause->crr;
    }
    cw_table_add(table, CW_BUDGET_ALL);
    cw_table_add(table, "%s", "");
    cw_table_add_number(table, compare->systematic_percent, CW_BUDGET_DECIMALS);
    cw_table_add_number(table, sqrt(crr), 5);
    if (pair)
        cw_table_add_number(table, compare->systematic_difference_percent, CW_BUDGET_DECIMALS);
    if (isnan(compare->wind.cda_percent)) return;
    add_off(table, "not the same in all: the runs' winds", compare->wind.known_ms, "m/s");
    cw_table_add_number(table, compare->wind.cda_percent, CW_BUDGET_DECIMALS);
    cw_table_add_number(table, NAN, 5);
    if (pair) cw_table_add_number(table, compare->wind.difference_percent, CW_BUDGET_DECIMALS);
}

void cw_budget_table(const struct cw_compare *compare, const struct cw_look *look,
                     struct cw_text *out) {
    struct cw_signs sign = cw_signs_of(look);
    const struct cw_column columns[] = {{"cause", "", false},
                                        {sign.plus_minus, "", true},
                                        {"CdA", "%", true},
                                        {"Crr", "", true},
                                        {"difference", "%", true}};
    bool pair = compare->n_comparisons > 0;
    struct cw_table table = {.columns = columns,
                             .n_columns = sizeof columns / sizeof *columns - !pair,
                             .units = look->units};
    if (!compare->n_causes) return;
    cw_budget_rows(compare, &sign, &table);
    cw_text_add(out, "\n");
    cw_wrapped_add(out,
                   pair
                       ? "What the runs cannot show, being the same in all: off by its standard "
                         "uncertainty, each moves CdA and Crr and the first two setups' difference "
                         "by (the intervals have it in them)"
                       : "What the runs cannot show, being the same in all: off by its standard "
                         "uncertainty, each moves CdA and Crr by (the intervals have it in them)",
                   look, 0);
    cw_table_write(&table, look, out);
    cw_table_free(&table);
}
