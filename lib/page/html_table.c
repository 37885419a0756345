#include "page/html_table.h"

#include <stdbool.h>
#include <string.h>

#include "report/markup.h"
#include "report/units.h"

static void add_heads(const struct cw_table *table, struct cw_text *text) {
    cw_text_add(text, "<thead><tr>");
    for (size_t i = 0; i < table->n_columns; i++) {
        const struct cw_column *column = &table->columns[i];
        /* A column without a head says nothing to be read out as one. */
        cw_text_add(text, *column->head ? "<th scope=\"col\"%s>" : "<td%s>",
                    column->right ? " class=\"number\"" : "");
        struct cw_text head = {0};
        cw_units_say(&head, column->head, table->units);
        if (head.bytes) cw_markup_add(text, head.bytes);
        text->failed |= head.failed;
        cw_text_free(&head);
        if (*column->unit) {
            cw_text_add(text, " <span class=\"unit\">");
            cw_markup_add(text, cw_table_unit(table, i));
            cw_text_add(text, "</span>");
        }
        cw_text_add(text, *column->head ? "</th>" : "</td>");
    }
    cw_text_add(text, "</tr></thead>\n");
}

/* A number's minus is a minus, not a hyphen; what is missing is a dash. */
static void add_cell(const char *cell, bool number, struct cw_text *text) {
    if (number && *cell == '-') cw_text_add(text, cell[1] ? "\u2212" : "\u2013");
    cw_markup_add(text, cell + (number && *cell == '-'));
}

/* A word so long that its column may break it anywhere. Others, units too, stay whole. */
enum { LONG_WORD = 24 };

static bool has_long_word(const char *cell) {
    size_t word = 0;
    for (const char *c = cell; *c && word <= LONG_WORD; c++) word = *c == ' ' ? 0 : word + 1;
    return word > LONG_WORD;
}

static const char *add_row(const struct cw_table *table, const char *run, const char *cell,
                           struct cw_text *text) {
    cw_text_add(text, "<tr");
    if (run && *run) {
        cw_text_add(text, " data-run=\"");
        cw_markup_add(text, run);
        cw_text_add(text, "\"");
    }
    cw_text_add(text, ">");
    for (size_t i = 0; i < table->n_columns; i++, cell += strlen(cell) + 1) {
        const struct cw_column *column = &table->columns[i];
        const char *element = i ? "td" : "th";
        /* Words may run in any direction; a cell keeps that to itself. */
        cw_text_add(text, "<%s%s%s>", element, i ? "" : " scope=\"row\"",
                    column->right         ? " class=\"number\""
                    : has_long_word(cell) ? " class=\"long\" dir=\"auto\""
                                          : " dir=\"auto\"");
        add_cell(cell, column->right, text);
        cw_text_add(text, "</%s>", element);
    }
    cw_text_add(text, "</tr>\n");
    return cell;
}

void cw_html_table_add(const struct cw_html_table *html, const struct cw_table *table,
                       struct cw_text *text) {
    const char *cell = table->cells.bytes;
    if (table->cells.failed) text->failed = true;
    cw_text_add(
        text,
        "<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-labelledby=\"%s-caption\">"
        "<table id=\"%s\">\n<caption id=\"%s-caption\"><span>%s</span></caption>\n",
        html->id, html->id, html->id, html->caption);
    add_heads(table, text);
    cw_text_add(text, "<tbody>\n");
    for (size_t i = 0; cell && i < table->n_cells / table->n_columns; i++)
        cell = add_row(table, html->runs ? html->runs[i] : NULL, cell, text);
    cw_text_add(text, "</tbody></table></div>\n");
}
