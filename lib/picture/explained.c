/* Where the seconds and the metres came from: from the reference's mean to the setup's, a bar a
 * cause, each beginning where the one above ends, with whiskers over its 95 % interval. */
#include <math.h>
#include <string.h>

#include "picture/chart.h"
#include "picture/pictures.h"
#include "picture/scene.h"
#include "report/estimates.h"

/* A picture of more pairs is no longer read. */
enum { PAIRS_MOST = 3 };

static const double row = 42, bar_height = 11, tick = 4;

struct explained {
    const struct cw_scene *scene;
    const struct cw_explanation *pair;
    const struct cw_split *split;
    enum cw_timed_quantity measured; /* what it divides */
    const char *unit, *name;
    struct cw_text means; /* both, over the axis */
    double from;          /* the reference's mean */
    int decimals;
    struct cw_plot plot;
};

static const char *name_of(const struct explained *e, size_t setup) {
    return e->scene->analysis->compare.setups[setup].name;
}

static size_t style_of(const struct explained *e, size_t setup) {
    for (size_t s = 0; s < e->scene->n_setups; s++)
        if (!strcmp(e->scene->setups[s].name, name_of(e, setup))) return e->scene->setups[s].style;
    return CW_STYLE_NONE;
}

static double mean_of(const struct explained *e, size_t setup) {
    const struct cw_analysed *of = e->scene->of;
    for (size_t s = 0; s < of->timed.n_setups; s++)
        if (!strcmp(of->outing.setups[of->timed.setups[s].setup].name, name_of(e, setup)))
            return of->timed.setups[s].of[e->measured].mean;
    return NAN;
}

/* What is nothing for sure, in the figures shown, has no bar. */
static bool is_shown(const struct explained *e, const struct cw_estimate *part) {
    double least = 0.5 * pow(10, -e->decimals);
    return isfinite(part->value) && (fabs(part->low) >= least || fabs(part->high) >= least);
}

static void lay_out(struct explained *e, struct cw_chart *chart) {
    double low = INFINITY, high = -INFINITY, at = e->from;
    size_t rows = 2;
    cw_range_add(&low, &high, at);
    for (int c = 0; c < CW_PARTS; c++) {
        const struct cw_estimate *part = &e->split->part[c];
        if (!is_shown(e, part)) continue;
        cw_range_add(&low, &high, at + part->low);
        cw_range_add(&low, &high, at + part->high);
        at += part->value;
        cw_range_add(&low, &high, at);
        rows++;
    }
    cw_range_add(&low, &high, e->from + e->split->measured.low);
    cw_range_add(&low, &high, e->from + e->split->measured.high);
    double bottom = chart->y + row * (double)rows;
    e->plot = (struct cw_plot){
        .x = cw_chart_axis(chart, e->unit, low, high, 24, CW_CHART_RIGHT - 12, 5, true),
        .y = cw_axis_make(0, 1, bottom, chart->y, 2, false),
        .x_means = e->means.bytes ? e->means.bytes : "",
        .y_means = "causes"};
}

/* The interval as a line with ends; nothing where it is not known. */
static void draw_whisker(const struct explained *e, struct cw_chart *chart, size_t style, double y,
                         double low, double high) {
    double from = cw_axis_at(&e->plot.x, low), to = cw_axis_at(&e->plot.x, high);
    if (!isfinite(from + to)) return;
    const char *class_ = style == CW_STYLE_NONE ? "gate plain" : "plain";
    cw_chart_line(chart, style, class_, from, y, to, y);
    cw_chart_line(chart, style, class_, from, y - tick, from, y + tick);
    cw_chart_line(chart, style, class_, to, y - tick, to, y + tick);
}

static void draw_texts(const struct explained *e, struct cw_chart *chart, double y,
                       const char *class_, const char *name, const struct cw_text *figure) {
    struct cw_text shown = {0};
    double room = e->plot.x.to - e->plot.x.from - 12;
    if (figure->bytes) {
        cw_chart_text(chart, e->plot.x.to, y + 15, 'e', "halo", figure->bytes);
        room -= cw_label_width(figure->bytes, CW_CHART_FONT);
    }
    cw_label_shorten(&shown, name, room, CW_CHART_STRONG);
    if (shown.bytes) cw_chart_text(chart, e->plot.x.from, y + 15, 's', class_, shown.bytes);
    chart->fails |= shown.failed;
    cw_text_free(&shown);
}

static void add_figure(const struct explained *e, struct cw_text *text, double value,
                       bool signed_) {
    cw_figure_add(text, value, e->decimals, signed_);
    cw_text_add(text, " %s", e->unit);
}

/* A setup's mean: its mark, and, of the setup's, how sure the difference is. */
static void draw_mean(const struct explained *e, struct cw_chart *chart, double y, size_t setup,
                      double mean, const struct cw_estimate *difference) {
    struct cw_text figure = {0}, value = {0};
    size_t style = style_of(e, setup);
    add_figure(e, &figure, mean, false);
    cw_chart_say(chart, &figure);
    cw_text_add(&value, "%s: %s", name_of(e, setup), figure.bytes ? figure.bytes : "");
    draw_texts(e, chart, y, "strong halo", name_of(e, setup), &figure);
    if (difference)
        draw_whisker(e, chart, style, y + 28, e->from + difference->low,
                     e->from + difference->high);
    cw_chart_mark(chart, style, cw_axis_at(&e->plot.x, mean), y + 28, 6, value.bytes);
    chart->fails |= figure.failed || value.failed;
    cw_text_free(&figure);
    cw_text_free(&value);
}

/* A bar is filled where its cause makes less of the quantity, and open where it makes more. */
static void draw_part(const struct explained *e, struct cw_chart *chart, double y,
                      enum cw_part cause, double from) {
    const struct cw_estimate *part = &e->split->part[cause];
    struct cw_text figure = {0}, value = {0};
    double x1 = cw_axis_at(&e->plot.x, from), x2 = cw_axis_at(&e->plot.x, from + part->value);
    add_figure(e, &figure, part->value, true);
    cw_chart_say(chart, &figure);
    cw_text_add(&value, "%s: ", cw_part_text(cause));
    cw_scene_add_estimate(&value, part, e->unit, true);
    cw_chart_line(chart, CW_STYLE_NONE, "rule", x1, y + 28 - row, x1, y + 28);
    draw_texts(e, chart, y, "halo", cw_part_text(cause), &figure);
    cw_text_add(&chart->body, "<g");
    if (value.bytes) cw_chart_value(chart, value.bytes);
    cw_text_add(&chart->body, ">");
    cw_chart_rect(chart, CW_STYLE_NONE, part->value < 0 ? "solid" : "open", fmin(x1, x2),
                  y + 28 - 0.5 * bar_height, fmax(1, fabs(x2 - x1)), bar_height);
    cw_text_add(&chart->body, "</g>");
    draw_whisker(e, chart, CW_STYLE_NONE, y + 28, from + part->low, from + part->high);
    chart->fails |= figure.failed || value.failed;
    cw_text_free(&figure);
    cw_text_free(&value);
}

static void describe(const struct explained *e, struct cw_text *text) {
    cw_text_add(text, "%s%s, %s: ", text->length ? " " : "", name_of(e, e->pair->reference),
                e->name);
    add_figure(e, text, e->from, false);
    for (int c = 0; c < CW_PARTS; c++) {
        if (!is_shown(e, &e->split->part[c])) continue;
        cw_text_add(text, "; %s ", cw_part_text((enum cw_part)c));
        add_figure(e, text, e->split->part[c].value, true);
    }
    cw_text_add(text, "; %s ", name_of(e, e->pair->setup));
    add_figure(e, text, e->from + e->split->measured.value, false);
    cw_text_add(text, ".");
}

static void draw(struct explained *e, struct cw_chart *chart, struct cw_text *description) {
    double at = e->from, y = chart->y;
    e->decimals = e->split->measured.standard_error > 0
                      ? cw_error_decimals(e->split->measured.standard_error)
                      : 2;
    if (e->decimals > 2) e->decimals = 2;
    cw_text_add(&e->means, "%s, %s", e->name, e->unit);
    lay_out(e, chart);
    cw_plot_open(chart, &e->plot, true, false);
    draw_mean(e, chart, y, e->pair->reference, e->from, NULL);
    for (int c = 0; c < CW_PARTS; c++) {
        if (!is_shown(e, &e->split->part[c])) continue;
        y += row;
        draw_part(e, chart, y, (enum cw_part)c, at);
        at += e->split->part[c].value;
    }
    y += row;
    double x = cw_axis_at(&e->plot.x, at);
    cw_chart_line(chart, CW_STYLE_NONE, "rule", x, y + 28 - row, x, y + 28);
    draw_mean(e, chart, y, e->pair->setup, at, &e->split->measured);
    cw_plot_close(chart, &e->plot, true);
    describe(e, description);
    chart->fails |= e->means.failed;
    cw_text_free(&e->means);
}

enum cw_status cw_picture_explained(const struct cw_scene *scene, struct cw_chart *chart,
                                    struct cw_text *description, struct cw_error *error) {
    static const struct {
        enum cw_explained_quantity which;
        enum cw_timed_quantity measured;
        const char *unit, *name;
    } quantities[] = {
        {CW_EXPLAINED_TIME, CW_TIMED_TIME, "s", "mean time between the gates"},
        {CW_EXPLAINED_RUNOUT, CW_TIMED_RUNOUT, "m", "mean run-out from the first gate"}};
    const struct cw_explained *all = &scene->of->explained;
    size_t told = 0;
    for (size_t k = 0; k < all->n && scene->analysis->compared; k++) {
        if (!all->at[k].of[CW_EXPLAINED_TIME].told || told++ >= PAIRS_MOST) continue;
        for (size_t q = 0; q < sizeof quantities / sizeof *quantities; q++) {
            struct explained e = {.scene = scene,
                                  .pair = &all->at[k],
                                  .split = &all->at[k].of[quantities[q].which],
                                  .measured = quantities[q].measured,
                                  .unit = quantities[q].unit,
                                  .name = quantities[q].name};
            e.from = mean_of(&e, e.pair->reference);
            if (!e.split->told || !isfinite(e.from)) continue;
            chart->y += 8;
            draw(&e, chart, description);
        }
    }
    if (!told)
        return cw_error_set(error, CW_E_DATA, scene->of->outing.file, 0,
                            "no two setups have runs timed between the same gates whose CdA is "
                            "told: nothing to draw");
    cw_chart_note(chart, "Each bar begins where the one above it ends: filled makes it less, open "
                         "makes it more. Whiskers: 95 % intervals.");
    if (told > PAIRS_MOST) cw_chart_note(chart, "Other pairs are in the table.");
    return CW_OK;
}
