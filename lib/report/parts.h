/* Parts that reports share: an estimate in a table, a row or a line, the budget, lists of
 * sentences. Inside the room only. */
#ifndef CW_REPORT_PARTS_H
#define CW_REPORT_PARTS_H

#include <stddef.h>

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/estimate.h"
#include "base/text.h"
#include "compare/compare.h"
#include "report/csv.h"
#include "report/interval.h"
#include "report/table.h"
#include "timed/timed.h"

#define CW_KMH_PER_MS 3.6

/* What a plain terminal shows otherwise. */
struct cw_signs {
    const char *plus_minus, *m2, *kgm3, *ms2, *celsius, *times;
};
struct cw_signs cw_signs_of(const struct cw_look *look);

/* value, standard error, low, high: four columns, with the digits that the error justifies. */
#define CW_ESTIMATE_COLUMNS(head, unit, sign)                                                      \
    {head, unit, true}, {sign, unit, true}, {"95 % from", unit, true}, {                           \
        "to", unit, true                                                                           \
    }
void cw_table_add_estimate(struct cw_table *table, struct cw_estimate estimate);
/* "0.00521 ± 0.00035 (95 %: 0.00452 to 0.00590)" and the unit. */
void cw_estimate_add(struct cw_text *out, struct cw_estimate estimate, const char *unit,
                     const struct cw_signs *sign);
#define CW_ESTIMATE_HEADS(name) name, name "_standard_error", name "_low", name "_high"
void cw_csv_add_estimate(struct cw_csv *csv, struct cw_estimate estimate);

/* How wide a picture of intervals may be beside a table written without it: what its heads leave of
 * a line, within reason; 0 where that is too little. */
size_t cw_picture_width(const char *table, const struct cw_look *look);

/* Adds text in lines no wider than the terminal (nor than 100 columns, which is enough to read),
 * those after the first indented, and a line end; as a terminal may be shown it, see cw_plain_add.
 */
void cw_wrapped_add(struct cw_text *out, const char *text, const struct cw_look *look,
                    size_t indent);

/* Sentences, each ending in '\0'. */
struct cw_sentences {
    size_t n;
    struct cw_text text;
};
void cw_sentences_add(struct cw_sentences *sentences, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Adds them under a heading, if there are any, and frees them; those of the library hold a degree
 * sign and the like, which a plain terminal is spared. */
void cw_sentences_list(const char *title, struct cw_sentences *sentences,
                       const struct cw_look *look, struct cw_text *out);

/* A p-value to three decimals; below 0.001 it says that. */
void cw_table_add_p(struct cw_table *table, double p);

/* How people read a quantity as measured: its value x factor, in unit. */
struct cw_timed_shown {
    const char *name, *unit;
    double factor;
    int decimals;
};
struct cw_timed_shown cw_timed_shown_as(enum cw_timed_quantity quantity);

/* Whether any run came to stand still. */
bool cw_timed_has_runout(const struct cw_timed *timed);

/* The budget as tables and picture show it alike. */
#define CW_BUDGET_DECIMALS 2 /* of a percentage */
#define CW_BUDGET_OFF "%.2g" /* a cause's uncertainty */
#define CW_BUDGET_ALL "all of them"
#define CW_BUDGET_NOISE "noise: gusts, recorder, scatter"
const char *cw_budget_unit(const struct cw_cause_effect *cause, const struct cw_signs *sign);

/* The budget's rows: cause, its uncertainty, unit, what it does to CdA, to Crr and, where there are
 * two setups, to their difference; the last row is all causes together. */
void cw_budget_rows(const struct cw_compare *compare, const struct cw_signs *sign,
                    struct cw_table *table);
/* What each systematic cause does; nothing if there is none. */
void cw_budget_table(const struct cw_compare *compare, const struct cw_look *look,
                     struct cw_text *out);

#endif
