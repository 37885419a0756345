#include "report/plan_sheet.h"

#include <math.h>
#include <string.h>

#include "base/utf8.h"
#include "report/plan_facts.h"
#include "report/plan_report.h"

static const struct cw_sheet_box boxes[] = {
    {"date and place", {"", ""}, false},
    {"rider with clothes, weighed", {"kg", "lb"}, false},
    {"bicycle, weighed", {"kg", "lb"}, false},
    {"loads of the setups, weighed", {"kg", "lb"}, false},
    {"tyre pressure, front", {"kPa or psi", "psi"}, true},
    {"tyre pressure, rear", {"kPa or psi", "psi"}, true},
    {"air temperature on the hill", {"C", "F"}, true},
    {"barometer on the hill", {"hPa", "inHg"}, true},
    {"humidity", {"%", "%"}, true},
    {"wind along the road, + is a headwind", {"m/s", "m/s or mph"}, true},
    {"recorder started, one second a point", {"", ""}, false},
};

const struct cw_sheet_box *cw_sheet_box_at(size_t i) {
    return i < sizeof boxes / sizeof *boxes ? &boxes[i] : NULL;
}

static const struct cw_sheet_column columns[] = {{"clock", {"", ""}, 8},
                                                 {"wind", {"m/s", ""}, 8},
                                                 {"ridden", {"", ""}, 6},
                                                 {"remarks", {"", ""}, 24}};

const struct cw_sheet_column *cw_sheet_column_at(size_t i) {
    return i < sizeof columns / sizeof *columns ? &columns[i] : NULL;
}

static void add_blank(struct cw_text *out, size_t width) {
    for (size_t i = 0; i < width; i++) cw_text_add_bytes(out, "_", 1);
}

static void add_padded(struct cw_text *out, const char *string, size_t width) {
    cw_utf8_add_shown(out, string);
    for (size_t i = cw_utf8_width(string); i < width; i++) cw_text_add_bytes(out, " ", 1);
}

static void add_boxes(enum cw_units units, struct cw_text *out) {
    const struct cw_sheet_box *box;
    add_padded(out, "", 50);
    cw_text_add(out, "before         after\n");
    for (size_t i = 0; (box = cw_sheet_box_at(i)); i++) {
        struct cw_text what = {0};
        const char *unit = box->unit[units];
        cw_text_add(&what, "%s%s%s", box->what, *unit ? ", " : "", unit);
        add_padded(out, what.bytes ? what.bytes : "", 50);
        add_blank(out, 12);
        if (box->after) {
            cw_text_add(out, "   ");
            add_blank(out, 12);
        }
        cw_text_add(out, "\n\n");
        if (what.failed) out->failed = true;
        cw_text_free(&what);
    }
}

static size_t widest_setup(const struct cw_plan *plan) {
    size_t widest = strlen("setup");
    for (size_t s = 0; s < plan->options.day.n_setups; s++) {
        size_t width = cw_utf8_width(cw_plan_setup(plan, s));
        if (width > widest) widest = width;
    }
    return widest;
}

static void add_runs(const struct cw_plan *plan, enum cw_units units, struct cw_text *out) {
    const struct cw_sheet_column *column;
    size_t setup = widest_setup(plan);
    cw_text_add(out, "run  ");
    add_padded(out, "setup", setup);
    cw_text_add(out, "  at min");
    for (size_t i = 0; (column = cw_sheet_column_at(i)); i++) {
        struct cw_text head = {0};
        const char *unit = column->unit[units];
        cw_text_add(&head, "%s%s%s", column->head, *unit ? " " : "", unit);
        cw_text_add(out, "  ");
        add_padded(out, head.bytes ? head.bytes : "",
                   cw_sheet_column_at(i + 1) ? column->width : 0);
        if (head.failed) out->failed = true;
        cw_text_free(&head);
    }
    cw_text_add(out, "\n\n");
    for (size_t r = 0; r < plan->n_order; r++) {
        cw_text_add(out, "%3zu  ", r + 1);
        add_padded(out, cw_plan_setup(plan, plan->order[r].setup), setup);
        cw_text_add(out, "  %6.0f", plan->order[r].start_s / 60);
        for (size_t i = 0; (column = cw_sheet_column_at(i)); i++) {
            cw_text_add(out, "  ");
            add_blank(out, column->width);
        }
        cw_text_add(out, "\n\n");
    }
}

enum cw_status cw_report_plan_sheet(const struct cw_plan *plan, enum cw_units units,
                                    struct cw_text *out, struct cw_error *error) {
    const struct cw_look look = {.columns = 80, .utf8 = false, .units = units};
    struct cw_sentences cautions = {0}, answers = {0};
    cw_plan_cautions(plan, &cautions);
    cw_plan_answers(plan, &answers);
    cw_text_add(out, "COASTING RUNS\n\n");
    cw_sentences_write(&cautions, &look, out);
    cw_text_add(out, "\n");
    cw_sentences_write(&answers, &look, out);
    cw_text_add(out, "\n");
    add_boxes(units, out);
    add_runs(plan, units, out);
    cw_text_add(out,
                "The same start, the same line and the same posture in each run; ride back up "
                "and write\ndown before the next. A run that was disturbed is ridden again and "
                "named here.\n");
    return out->failed ? cw_error_memory(error) : CW_OK;
}
