#include "report/budget_table.h"

#include <math.h>
#include <string.h>

const char *cw_budget_unit(const struct cw_cause_effect *cause, const struct cw_signs *sign) {
    return strcmp(cause->unit, "C") ? cause->unit : sign->celsius;
}

void cw_budget_rows(const struct cw_compare *compare, const struct cw_signs *sign,
                    struct cw_table *table) {
    bool pair = compare->n_comparisons > 0;
    double crr = 0;
    for (size_t i = 0; i < compare->n_causes; i++) {
        const struct cw_cause_effect *cause = &compare->causes[i];
        cw_table_add(table, "%s", cause->name);
        cw_table_add(table, CW_BUDGET_OFF, cause->uncertainty);
        cw_table_add(table, "%s", cw_budget_unit(cause, sign));
        cw_table_add_number(table, cause->cda_percent, CW_BUDGET_DECIMALS);
        cw_table_add_number(table, cause->crr, 5);
        if (pair) cw_table_add_number(table, cause->difference_percent, CW_BUDGET_DECIMALS);
        crr += cause->crr * cause->crr;
    }
    cw_table_add(table, CW_BUDGET_ALL);
    cw_table_add(table, "%s", "");
    cw_table_add(table, "%s", "");
    cw_table_add_number(table, compare->systematic_percent, CW_BUDGET_DECIMALS);
    cw_table_add_number(table, sqrt(crr), 5);
    if (pair)
        cw_table_add_number(table, compare->systematic_difference_percent, CW_BUDGET_DECIMALS);
    if (isnan(compare->wind.cda_percent)) return;
    cw_table_add(table, "not the same in all: the runs' winds");
    cw_table_add(table, CW_BUDGET_OFF, compare->wind.known_ms);
    cw_table_add(table, "m/s");
    cw_table_add_number(table, compare->wind.cda_percent, CW_BUDGET_DECIMALS);
    cw_table_add_number(table, NAN, 5);
    if (pair) cw_table_add_number(table, compare->wind.difference_percent, CW_BUDGET_DECIMALS);
}

void cw_budget_table(const struct cw_compare *compare, const struct cw_look *look,
                     struct cw_text *out) {
    struct cw_signs sign = cw_signs_of(look);
    const struct cw_column columns[] = {{"cause", "", false}, {sign.plus_minus, "", true},
                                        {"", "", false},      {"CdA", "%", true},
                                        {"Crr", "", true},    {"difference", "%", true}};
    bool pair = compare->n_comparisons > 0;
    struct cw_table table = {.columns = columns,
                             .n_columns = sizeof columns / sizeof *columns - !pair};
    if (!compare->n_causes) return;
    cw_budget_rows(compare, &sign, &table);
    cw_text_add(out,
                "\nWhat the runs cannot show, being the same in all: off by its standard "
                "uncertainty, each\nmoves CdA and Crr%s by (the intervals have it in them)\n",
                pair ? " and the first two setups' difference" : "");
    cw_table_write(&table, out);
    cw_table_free(&table);
}
