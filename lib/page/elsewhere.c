#include "page/elsewhere.h"

#include <stdbool.h>
#include <string.h>

#include "base/print.h"
#include "page/html_table.h"
#include "page/parts.h"
#include "picture/predicted.h"
#include "report/markup.h"
#include "report/plan_facts.h"
#include "report/predict_facts.h"

/* A sentence as a paragraph; frees it. */
static void take_paragraph(struct cw_text *sentence, struct cw_text *text) {
    if (sentence->failed) text->failed = true;
    cw_text_add(text, "<p dir=\"auto\">");
    cw_markup_add(text, sentence->bytes ? sentence->bytes : "");
    cw_text_add(text, "</p>\n");
    cw_text_free(sentence);
}

/* Sentences under a heading, where there are any; frees them. */
static void take_list(const char *heading, struct cw_sentences *sentences, struct cw_text *text) {
    if (sentences->n) cw_text_add(text, "<h3>%s</h3>\n", heading);
    cw_page_add_sentences(sentences, text);
}

static void take_care(const char *label, struct cw_sentences *cautions, struct cw_text *text) {
    cw_text_add(text, "<aside class=\"care\" aria-label=\"%s\">\n", label);
    cw_page_add_sentences(cautions, text);
    cw_text_add(text, "</aside>\n");
}

/* ---- a prediction ---- */

/* "setup=jacket" is what a command line says. */
static void add_label(const char *label, struct cw_text *text) {
    static const char setup[] = "setup=";
    bool is_setup = !strncmp(label, setup, strlen(setup)) && !strchr(label, ',');
    if (is_setup) cw_text_add(text, "setup ");
    cw_markup_add_name(text, label + (is_setup ? strlen(setup) : 0));
}

static void add_ride(const struct cw_prediction *prediction, size_t i, enum cw_units units,
                     struct cw_text *text) {
    struct cw_predict_cells cells;
    struct cw_text caption = {0}, line = {0};
    char id[32];
    cw_predict_ride_add(prediction, i, &line);
    cw_text_add(&line, ".");
    take_paragraph(&line, text);
    cw_predict_ride_cells(prediction, i, units, "\u00b1", &cells);
    cw_print(id, sizeof id, "predicted-%zu", i);
    cw_text_add(&caption, i ? "With " : "The ride");
    if (i) add_label(prediction->at[i].label, &caption);
    if (caption.failed) text->failed = true;
    cw_html_table_add(
        &(struct cw_html_table){.id = id, .caption = caption.bytes ? caption.bytes : ""},
        &cells.table, text);
    cw_table_free(&cells.table);
    cw_text_free(&caption);
}

static void add_picture(const struct cw_prediction *prediction, enum cw_units units,
                        struct cw_text *text) {
    struct cw_text svg = {0};
    if (prediction->at[0].trace.n && cw_picture_predicted_add(prediction, units, &svg, NULL) >= 0) {
        cw_text_add(text, "<figure>\n<div class=\"picture\" role=\"group\" tabindex=\"0\" "
                          "aria-label=\"Speed along the road: picture\">");
        cw_text_add_bytes(text, svg.bytes, svg.length);
        cw_text_add(text, "</div>\n<figcaption>Speed along the road, and the road's heights under "
                          "it.</figcaption>\n</figure>\n");
    }
    if (svg.failed) text->failed = true;
    cw_text_free(&svg);
}

static void add_prediction(const struct cw_prediction *prediction, enum cw_units units,
                           struct cw_text *text) {
    struct cw_sentences said = {0};
    struct cw_text line = {0};
    cw_predict_cautions(prediction, &said);
    if (said.n) take_care("Before this ride", &said, text);
    cw_predict_road_add(prediction->road, &line);
    cw_text_add(&line, ".");
    take_paragraph(&line, text);
    add_picture(prediction, units, text);
    for (size_t i = 0; i < prediction->n; i++) add_ride(prediction, i, units, text);
    cw_predict_doubts(prediction, &said);
    take_list("Mind", &said, text);
    cw_predict_taken(prediction, &said);
    take_list("Taken, for nothing else was said", &said, text);
}

enum cw_status cw_page_prediction_add(const struct cw_prediction *prediction, enum cw_units units,
                                      struct cw_text *text, struct cw_error *error) {
    struct cw_text part = {0};
    add_prediction(prediction, units, &part);
    cw_page_take_units(&part, units, text);
    return text->failed ? cw_error_memory(error) : CW_OK;
}

/* ---- a plan ---- */

struct tables {
    struct cw_text *text;
    size_t n;
};

static void take_table(void *taker, const char *title, const struct cw_table *table) {
    struct tables *to = taker;
    struct cw_text caption = {0};
    char id[32];
    cw_print(id, sizeof id, "plan-%zu", ++to->n);
    cw_markup_add(&caption, title);
    if (caption.failed) to->text->failed = true;
    cw_html_table_add(
        &(struct cw_html_table){.id = id, .caption = caption.bytes ? caption.bytes : ""}, table,
        to->text);
    cw_text_free(&caption);
}

static void add_plan(const struct cw_plan *plan, enum cw_units units, struct cw_text *text) {
    struct cw_sentences said = {0};
    struct cw_text head = {0};
    struct tables tables = {.text = text};
    cw_plan_cautions(plan, &said);
    take_care("Before the runs planned", &said, text);
    cw_plan_answers(plan, &said);
    cw_text_add(text, "<div class=\"told\">\n");
    cw_page_add_sentences(&said, text);
    cw_text_add(text, "</div>\n");
    cw_plan_head_add(plan, "m\u00b2", &head);
    take_paragraph(&head, text);
    cw_plan_tables(plan, units, take_table, &tables);
    cw_plan_advice(plan, &said);
    take_list("What the road and the day let be told", &said, text);
    cw_plan_defaults(plan, &said);
    take_list("Taken for granted", &said, text);
}

enum cw_status cw_page_plan_add(const struct cw_plan *plan, enum cw_units units,
                                struct cw_text *text, struct cw_error *error) {
    struct cw_text part = {0};
    add_plan(plan, units, &part);
    cw_page_take_units(&part, units, text);
    return text->failed ? cw_error_memory(error) : CW_OK;
}
