#include "report/parts.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "report/words.h"

struct cw_signs cw_signs_of(const struct cw_look *look) {
    static const struct cw_signs plain = {"+-", "m2", "kg/m3", "m/s2", "C", "x"};
    static const struct cw_signs utf8 = {"±", "m²", "kg/m³", "m/s²", "°C", "×"};
    return look->utf8 ? utf8 : plain;
}

void cw_table_add_estimate(struct cw_table *table, struct cw_estimate estimate) {
    int decimals = cw_error_decimals(estimate.standard_error);
    cw_table_add_number(table, estimate.value, decimals);
    cw_table_add_number(table, estimate.standard_error, decimals);
    cw_table_add_number(table, estimate.low, decimals);
    cw_table_add_number(table, estimate.high, decimals);
}

void cw_estimate_add(struct cw_text *out, struct cw_estimate estimate, const char *unit,
                     const struct cw_signs *sign) {
    int decimals = cw_error_decimals(estimate.standard_error);
    cw_text_add(out, "%.*f %s %.*f%s%s (95 %%: %.*f to %.*f)", decimals, estimate.value,
                sign->plus_minus, decimals, estimate.standard_error, *unit ? " " : "", unit,
                decimals, estimate.low, decimals, estimate.high);
}

void cw_csv_add_estimate(struct cw_csv *csv, struct cw_estimate estimate) {
    cw_csv_add_number(csv, estimate.value);
    cw_csv_add_number(csv, estimate.standard_error);
    cw_csv_add_number(csv, estimate.low);
    cw_csv_add_number(csv, estimate.high);
}

enum { PICTURE_LEAST = 16, PICTURE_MOST = 60, LINE_MOST = 100 };

size_t cw_picture_width(const char *table, const struct cw_look *look) {
    size_t length = strcspn(table, "\n");
    char *heads = strndup(table, length);
    size_t taken = heads ? cw_utf8_width(heads) + 2 : look->columns;
    free(heads);
    if (look->columns < taken + PICTURE_LEAST) return 0;
    return look->columns - taken < PICTURE_MOST ? look->columns - taken : PICTURE_MOST;
}

void cw_wrapped_add(struct cw_text *out, const char *text, const struct cw_look *look,
                    size_t indent) {
    size_t most = look->columns < LINE_MOST ? look->columns : LINE_MOST, taken = indent;
    struct cw_text shown = {0};
    if (look->utf8)
        cw_utf8_add_shown(&shown, text);
    else
        cw_plain_add(&shown, text);
    for (char *word = shown.bytes; word && *word;) {
        size_t length = strcspn(word, " ");
        bool last = !word[length];
        word[length] = '\0';
        size_t width = cw_utf8_width(word);
        if (word == shown.bytes) {
            taken += width;
        } else if (taken + 1 + width > most) {
            cw_text_add(out, "\n%*s", (int)indent, "");
            taken = indent + width;
        } else {
            cw_text_add(out, " ");
            taken += 1 + width;
        }
        cw_text_add(out, "%s", word);
        word += length + !last;
    }
    cw_text_add(out, "\n");
    if (shown.failed) out->failed = true;
    cw_text_free(&shown);
}

void cw_sentences_add(struct cw_sentences *sentences, const char *format, ...) {
    char sentence[1024];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    cw_text_add(&sentences->text, "%s", sentence);
    cw_text_add_bytes(&sentences->text, "", 1);
    sentences->n++;
}

void cw_sentences_list(const char *title, struct cw_sentences *sentences,
                       const struct cw_look *look, struct cw_text *out) {
    const char *sentence = sentences->text.bytes;
    if (sentences->text.failed) out->failed = true;
    if (sentences->n) cw_text_add(out, "\n%s\n", title);
    for (size_t i = 0; i < sentences->n && sentence; i++, sentence += strlen(sentence) + 1) {
        cw_text_add(out, "- ");
        cw_wrapped_add(out, sentence, look, 2);
    }
    cw_text_free(&sentences->text);
}

void cw_table_add_p(struct cw_table *table, double p) {
    if (p < 0.001)
        cw_table_add(table, "<0.001");
    else
        cw_table_add_number(table, p, 3);
}

struct cw_timed_shown cw_timed_shown_as(enum cw_timed_quantity quantity) {
    static const struct cw_timed_shown shown[CW_TIMED_QUANTITIES] = {
        {"time", "s", 1, 2}, {"run-out", "m", 1, 1}, {"entry", "km/h", CW_KMH_PER_MS, 2}};
    return shown[quantity];
}

bool cw_timed_has_runout(const struct cw_timed *timed) {
    for (size_t k = 0; k < timed->n; k++)
        if (isfinite(timed->runs[k].runout_m.value)) return true;
    return false;
}

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
                "uncertainty, each\nmoves CdA and Crr (which is not in their intervals)%s by\n",
                pair ? " and the first two setups'\ndifference (which is in its interval)" : "");
    cw_table_write(&table, out);
    cw_table_free(&table);
}
