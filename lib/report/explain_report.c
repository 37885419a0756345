#include "report/explain_report.h"

#include <math.h>

#include "base/utf8.h"
#include "report/compare_facts.h"
#include "report/csv.h"
#include "report/estimates.h"
#include "report/explain_facts.h"
#include "report/json.h"
#include "report/plain.h"

bool cw_explain_answers(const struct cw_analysis *analysis) {
    for (size_t o = 0; o < analysis->n; o++)
        for (size_t k = 0; k < analysis->outings[o].explained.n; k++)
            if (analysis->outings[o].explained.at[k].of[CW_EXPLAINED_TIME].told) return true;
    return false;
}

/* ---- for people ---- */

static void tables(const struct cw_explanation *explanation, const struct cw_look *look,
                   struct cw_text *out) {
    for (int halves = 0; halves < 2; halves++) {
        struct cw_explain_columns columns;
        struct cw_table table = {.units = look->units};
        if (halves && !cw_explain_has_halves(explanation)) continue;
        cw_explain_rows_add(explanation, halves, &columns, &table);
        cw_text_add(out, "\n");
        cw_wrapped_add(out,
                       halves ? "The same on the way down to the lowest place, and on the far side"
                              : "What each cause made of the difference in the means of the runs "
                                "(a time below 0: quicker)",
                       look, 0);
        cw_table_write(&table, look, out);
        cw_table_free(&table);
    }
}

static void pair(const struct cw_analysis *analysis, const struct cw_explanation *explanation,
                 const struct cw_look *look, struct cw_text *out) {
    struct cw_text head = {0};
    struct cw_sentences said = {0};
    cw_explain_head_add(analysis, explanation, &head);
    cw_text_add(out, "\n");
    cw_wrapped_take(out, &head, look, 0);
    cw_explain_said(analysis, explanation, look->units, &said);
    cw_sentences_write(&said, look, out);
    if (explanation->of[CW_EXPLAINED_TIME].told) tables(explanation, look, out);
}

enum cw_status cw_report_explain_table(const struct cw_analysis *analysis,
                                       const struct cw_look *look, struct cw_text *out,
                                       struct cw_error *error) {
    struct cw_sentences method = {0}, defaults = {0}, warnings = {0};
    for (size_t o = 0; o < analysis->n; o++) {
        const struct cw_analysed *of = &analysis->outings[o];
        if (o) cw_text_add(out, "\n");
        cw_utf8_add_shown(out, of->outing.name);
        cw_text_add(out, "\n");
        for (size_t k = 0; k < of->explained.n; k++)
            pair(analysis, &of->explained.at[k], look, out);
        if (!of->explained.n)
            cw_wrapped_add(out,
                           of->timed.n ? "no two setups that tell a CdA have timed runs here: "
                                         "there is nothing to explain"
                                       : "nothing could be timed here, so there is nothing to "
                                         "explain",
                           look, 0);
    }
    cw_explain_method_said(&method);
    cw_sentences_list("How it is divided", &method, look, out);
    cw_compare_defaults_once(analysis, &defaults);
    cw_sentences_list("Defaults used", &defaults, look, out);
    cw_compare_warnings(analysis, &warnings);
    cw_sentences_list("Mind", &warnings, look, out);
    return out->failed ? cw_error_memory(error) : CW_OK;
}

/* ---- CSV ---- */

enum cw_status cw_report_explain_csv(const struct cw_analysis *analysis, struct cw_text *out,
                                     struct cw_error *error) {
    static const char *const heads[] = {
        "outing",         "setup",          "reference", "setup_runs",
        "reference_runs", "quantity",       "cause",     CW_ESTIMATE_HEADS("difference"),
        "setup_value",    "reference_value"};
    struct cw_csv csv = {.out = out};
    cw_csv_add_heads(&csv, heads, sizeof heads / sizeof *heads);
    for (size_t o = 0; o < analysis->n; o++)
        for (size_t k = 0; k < analysis->outings[o].explained.n; k++) {
            const struct cw_explanation *e = &analysis->outings[o].explained.at[k];
            for (int at = 0; at < CW_EXPLAINED * (CW_PARTS + 1); at++) {
                enum cw_explained_quantity q = (enum cw_explained_quantity)(at / (CW_PARTS + 1));
                int part = at % (CW_PARTS + 1);
                if (!e->of[q].told) continue;
                cw_csv_add(&csv, analysis->outings[o].outing.name);
                cw_csv_add(&csv, analysis->compare.setups[e->setup].name);
                cw_csv_add(&csv, analysis->compare.setups[e->reference].name);
                cw_csv_add_number(&csv, (double)e->runs[0]);
                cw_csv_add_number(&csv, (double)e->runs[1]);
                cw_csv_add(&csv, cw_explained_key(q));
                cw_csv_add(&csv, part < CW_PARTS ? cw_part_key((enum cw_part)part) : "measured");
                cw_csv_add_estimate(&csv,
                                    part < CW_PARTS ? e->of[q].part[part] : e->of[q].measured);
                for (int side = 0; side < 2; side++)
                    cw_csv_add_number(&csv, part < CW_MODEL_PARTS ? e->state[side][part] : NAN);
                cw_csv_end_row(&csv);
            }
        }
    return out->failed ? cw_error_memory(error) : CW_OK;
}

/* ---- JSON ---- */

/* Of each quantity what estimate has of it: null where the run-out, or the dip, is not there. */
static void set_quantities(struct cw_json object, const struct cw_explanation *e, int part) {
    const struct cw_estimate none = {NAN, NAN, NAN, NAN, 0};
    for (enum cw_explained_quantity q = 0; q < CW_EXPLAINED; q++) {
        const struct cw_split *split = &e->of[q];
        cw_json_set(object, cw_explained_key(q),
                    cw_json_estimate(!split->told      ? none
                                     : part < CW_PARTS ? split->part[part]
                                                       : split->measured));
    }
}

static json_t *causes_json(const struct cw_explanation *e, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (int part = 0; part < CW_PARTS; part++) {
        struct cw_json cause = cw_json_object(failed);
        bool known = part < CW_MODEL_PARTS && (part != CW_PART_WIND || e->wind_known);
        cw_json_set(cause, "cause", cw_json_string(cw_part_key((enum cw_part)part)));
        set_quantities(cause, e, part);
        cw_json_set(cause, "setup_value", cw_json_number(known ? e->state[0][part] : NAN));
        cw_json_set(cause, "reference_value", cw_json_number(known ? e->state[1][part] : NAN));
        cw_json_append(array, cause.value);
    }
    return array.value;
}

/* The parts added up, as sure as what was measured. */
static json_t *sum_json(const struct cw_explanation *e, bool *failed) {
    struct cw_explanation added = *e;
    for (int q = 0; q < CW_EXPLAINED; q++) {
        struct cw_estimate *whole = &added.of[q].measured;
        double off =
            cw_split_explained(&e->of[q]) + e->of[q].part[CW_PART_LEFT].value - whole->value;
        whole->value += off;
        whole->low += off;
        whole->high += off;
    }
    struct cw_json sum = cw_json_object(failed);
    set_quantities(sum, &added, CW_PARTS);
    return sum.value;
}

static json_t *contrary_json(const struct cw_contrary *c, bool *failed) {
    if (!c->is) return json_null();
    struct cw_json object = cw_json_object(failed);
    cw_json_set(object, "expected_m", cw_json_number(c->expected_m));
    cw_json_set(object, "beyond_m", cw_json_estimate(c->beyond_m));
    cw_json_set(object, "scatter", json_boolean(c->scatter));
    cw_json_set(object, "would_take_cda_percent", cw_json_number(c->cda_percent));
    cw_json_set(object, "that_cda_time_s", cw_json_number(c->cda_time_s));
    cw_json_set(object, "would_take_crr", cw_json_number(c->crr));
    cw_json_set(object, "that_crr_time_s", cw_json_number(c->crr_time_s));
    return object.value;
}

static json_t *pair_json(const struct cw_analysis *analysis, const struct cw_explanation *e,
                         bool *failed) {
    struct cw_json object = cw_json_object(failed), runs = cw_json_array(failed),
                   gates = cw_json_array(failed), measured = cw_json_object(failed);
    struct cw_sentences said = {0};
    cw_json_append(runs, json_integer((json_int_t)e->runs[0]));
    cw_json_append(runs, json_integer((json_int_t)e->runs[1]));
    cw_json_append(gates, cw_json_number(e->from_m));
    cw_json_append(gates, cw_json_number(e->to_m));
    set_quantities(measured, e, CW_PARTS);
    cw_json_set(object, "outing", cw_json_string(analysis->outings[e->outing].outing.name));
    cw_json_set(object, "setup", cw_json_string(analysis->compare.setups[e->setup].name));
    cw_json_set(object, "reference", cw_json_string(analysis->compare.setups[e->reference].name));
    cw_json_set(object, "runs", runs.value);
    cw_json_set(object, "gates_m", gates.value);
    cw_json_set(object, "dip_m", cw_json_number(e->dip_m));
    cw_json_set(object, "causes", causes_json(e, failed));
    cw_json_set(object, "sum", sum_json(e, failed));
    cw_json_set(object, "measured", measured.value);
    cw_json_set(object, "against_the_load", contrary_json(&e->contrary, failed));
    cw_explain_said(analysis, e, CW_UNITS_METRIC, &said);
    cw_json_set(object, "said", cw_json_sentences(&said, failed));
    return object.value;
}

enum cw_status cw_report_explain_json(const struct cw_analysis *analysis, struct cw_text *out,
                                      struct cw_error *error) {
    bool failed = false;
    struct cw_json document = cw_json_document("explain", &failed), pairs = cw_json_array(&failed);
    struct cw_sentences defaults = {0}, warnings = {0};
    for (size_t o = 0; o < analysis->n; o++)
        for (size_t k = 0; k < analysis->outings[o].explained.n; k++)
            cw_json_append(pairs,
                           pair_json(analysis, &analysis->outings[o].explained.at[k], &failed));
    cw_compare_defaults(analysis, &defaults);
    cw_compare_warnings(analysis, &warnings);
    cw_json_set(document, "pairs", pairs.value);
    cw_json_set(document, "defaults", cw_json_sentences(&defaults, &failed));
    cw_json_set(document, "warnings", cw_json_sentences(&warnings, &failed));
    return cw_json_finish(document, out, error);
}
