#include "page/sheet.h"

#include <string.h>

#include "base/checksum.h"
#include "page/parts.h"
#include "page/room.h"
#include "report/markup.h"
#include "report/plan_facts.h"
#include "report/plan_sheet.h"

/* Black on white, for paper. */
static const char style[] =
    ":root{color-scheme:light}"
    "body{font:11pt/1.35 system-ui,sans-serif;color:#000;background:#fff;max-width:190mm;"
    "margin:8mm auto;padding:0 4mm}"
    "h1{font-size:1.4em;margin:0 0 .4em}h2{font-size:1.1em;margin:1em 0 .3em}"
    "ul{margin:.2em 0;padding-left:1.2em}"
    ".care{border:2px solid #000;padding:.4em .8em}"
    "table{border-collapse:collapse;width:100%}"
    "th,td{border:1px solid #000;padding:.25em .5em;text-align:left;height:1.7em}"
    "th{font-weight:600}.number{text-align:right}.wide{width:34%}.box{min-width:4.5em}"
    "tr{break-inside:avoid}thead{display:table-header-group}"
    "@page{margin:12mm}@media print{body{margin:0;max-width:none;padding:0}}";

static void add_list(struct cw_sentences *sentences, struct cw_text *text) {
    cw_text_add(text, "<ul>\n");
    for (const char *s = cw_sentences_next(sentences, NULL); s;
         s = cw_sentences_next(sentences, s)) {
        cw_text_add(text, "<li>");
        cw_markup_add(text, s);
        cw_text_add(text, "</li>\n");
    }
    cw_text_add(text, "</ul>\n");
    if (sentences->text.failed) text->failed = true;
    cw_sentences_free(sentences);
}

static void add_boxes(enum cw_units units, struct cw_text *text) {
    const struct cw_sheet_box *box;
    cw_text_add(text, "<h2>To be written down</h2>\n<table><thead><tr><th scope=\"col\">what</th>"
                      "<th scope=\"col\">unit</th><th scope=\"col\" class=\"box\">before</th>"
                      "<th scope=\"col\" class=\"box\">after</th></tr></thead>\n<tbody>\n");
    for (size_t i = 0; (box = cw_sheet_box_at(i)); i++) {
        cw_text_add(text, "<tr><th scope=\"row\">");
        cw_markup_add(text, box->what);
        cw_text_add(text, "</th><td>");
        cw_markup_add(text, box->unit[units]);
        cw_text_add(text, "</td><td></td><td>%s</td></tr>\n", box->after ? "" : "\xe2\x80\x93");
    }
    cw_text_add(text, "</tbody></table>\n");
}

static void add_runs(const struct cw_plan *plan, enum cw_units units, struct cw_text *text) {
    const struct cw_sheet_column *column;
    cw_text_add(text, "<h2>Runs</h2>\n<table><thead><tr><th scope=\"col\">run</th>"
                      "<th scope=\"col\">setup</th><th scope=\"col\">at, min</th>");
    for (size_t i = 0; (column = cw_sheet_column_at(i)); i++)
        cw_text_add(text, "<th scope=\"col\"%s>%s%s%s</th>",
                    cw_sheet_column_at(i + 1) ? " class=\"box\"" : " class=\"wide\"", column->head,
                    *column->unit[units] ? ", " : "", column->unit[units]);
    cw_text_add(text, "</tr></thead>\n<tbody>\n");
    for (size_t r = 0; r < plan->n_order; r++) {
        cw_text_add(text, "<tr><td class=\"number\">%zu</td><th scope=\"row\">", r + 1);
        cw_markup_add_name(text, cw_plan_setup(plan, plan->order[r].setup));
        cw_text_add(text, "</th><td class=\"number\">%.0f</td>", plan->order[r].start_s / 60);
        for (size_t i = 0; cw_sheet_column_at(i); i++) cw_text_add(text, "<td></td>");
        cw_text_add(text, "</tr>\n");
    }
    cw_text_add(text, "</tbody></table>\n");
}

static void add_sheet(const struct cw_plan *plan, enum cw_units units, struct cw_text *text) {
    struct cw_sentences cautions = {0}, answers = {0};
    char checksum[CW_CHECKSUM_BASE64];
    cw_checksum_base64(style, strlen(style), checksum);
    cw_plan_cautions(plan, &cautions);
    cw_plan_answers(plan, &answers);
    cw_text_add(text, CW_PAGE_BEGINNING);
    cw_text_add(text,
                "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                "base-uri 'none'; form-action 'none'; style-src 'sha256-%s'\">\n"
                "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                "<meta name=\"referrer\" content=\"no-referrer\">\n"
                "<title>Coasting runs</title>\n<style>%s</style>\n</head>\n<body>\n<main>\n"
                "<h1>Coasting runs</h1>\n<section class=\"care\" aria-labelledby=\"care\">"
                "<h2 id=\"care\">First of all</h2>\n",
                checksum, style);
    add_list(&cautions, text);
    cw_text_add(text, "</section>\n");
    add_list(&answers, text);
    add_boxes(units, text);
    add_runs(plan, units, text);
    cw_text_add(text,
                "<p>The same start, the same line and the same posture in each run; ride back "
                "up and write down before the next. A run that was disturbed is ridden again "
                "and named here.</p>\n</main>\n</body>\n</html>\n");
}

enum cw_status cw_page_sheet_add(const struct cw_plan *plan, enum cw_units units,
                                 struct cw_text *text, struct cw_error *error) {
    struct cw_text sheet = {0};
    add_sheet(plan, units, &sheet);
    cw_page_take_units(&sheet, units, text);
    return text->failed ? cw_error_memory(error) : CW_OK;
}
