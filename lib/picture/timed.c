/* Times between gates, run-outs and entry speeds as measured: every run, and each setup's mean with
 * its scatter. */
#include <math.h>
#include <stdlib.h>

#include "base/print.h"
#include "picture/chart.h"
#include "picture/pictures.h"
#include "picture/scene.h"
#include "report/estimates.h"
#include "report/units.h"
#include "timed/timed.h"

struct quantity {
    enum cw_timed_quantity which;
    const char *name, *unit;
};
static const struct quantity quantities[] = {
    {CW_TIMED_TIME_WATCHED, "time by stopwatch", "s"},
    {CW_TIMED_TIME, "time between the gates", "s"},
    {CW_TIMED_RUNOUT_TAPED, "run-out by tape", "m"},
    {CW_TIMED_RUNOUT, "run-out", "m"},
    {CW_TIMED_ENTRY_SPEED, "entry speed", "m/s"},
};

struct timed_picture {
    const struct cw_scene *scene;
    const struct cw_timed *timed;
    bool many;     /* runs: draw ranges and means */
    double spread; /* of a setup's points, up and down */
};

/* The scene's setup of an outing's, n_setups where it has none. */
static size_t scene_setup(const struct cw_scene *scene, size_t setup) {
    for (size_t i = 0; i < scene->n; i++)
        if (scene->runs[i].fit->setup == setup) return scene->runs[i].setup;
    return scene->n_setups;
}

static bool value_range(const struct timed_picture *p, enum cw_timed_quantity which, double *low,
                        double *high) {
    *low = INFINITY;
    *high = -INFINITY;
    for (size_t i = 0; i < p->timed->n; i++)
        cw_range_add(low, high, cw_timed_of(&p->timed->runs[i], which)->value);
    for (size_t s = 0; s < p->timed->n_setups; s++) {
        const struct cw_timed_group *group = &p->timed->setups[s].of[which];
        cw_range_add(low, high, group->mean - group->sd);
        cw_range_add(low, high, group->mean + group->sd);
    }
    return *low <= *high;
}

static void add_group(struct cw_text *text, const struct cw_timed_group *group, const char *unit) {
    struct cw_unit_shown shown = cw_unit_shown(CW_UNITS_METRIC, unit);
    int decimals = cw_error_decimals(shown.factor * group->sd);
    if (decimals > 3) decimals = 3; /* equal values are not known any better than they are read */
    cw_figure_add(text, shown.factor * group->mean, decimals, false);
    if (isfinite(group->sd)) {
        cw_text_add(text, " \xc2\xb1 ");
        cw_figure_add(text, shown.factor * group->sd, decimals, false);
    }
    cw_text_add(text, " %s", shown.unit);
}

static void draw_runs(const struct timed_picture *p, struct cw_chart *chart,
                      const struct cw_plot *plot, const struct quantity *q,
                      const struct cw_timed_setup *setup, double y) {
    const struct cw_scene_setup *named = &p->scene->setups[scene_setup(p->scene, setup->setup)];
    size_t n = 0, k = 0;
    for (size_t i = 0; i < p->timed->n; i++)
        n += p->timed->runs[i].setup == setup->setup &&
             isfinite(cw_timed_of(&p->timed->runs[i], q->which)->value);
    for (size_t i = 0; i < p->timed->n; i++) {
        const struct cw_timed_run *run = &p->timed->runs[i];
        const struct cw_estimate *value = cw_timed_of(run, q->which);
        if (run->setup != setup->setup || !isfinite(value->value)) continue;
        long number = p->scene->of->runs.at[run->run].number;
        struct cw_text text = {0};
        cw_text_add(&text, "run %ld, %s: %s ", number, named->name, q->name);
        cw_scene_add_estimate(&text, value, q->unit, false);
        /* In ride order from the top down. */
        double at = n > 1 ? y + p->spread * ((double)k / (double)(n - 1) - 0.5) : y;
        cw_scene_open_run(p->scene, chart, number, named->name);
        cw_chart_mark(chart, named->style, cw_axis_at(&plot->x, value->value), at, 4.5, text.bytes);
        cw_scene_close_run(chart);
        chart->fails |= text.failed;
        cw_text_free(&text);
        k++;
    }
}

/* From the lowest to the highest as a line. */
static void draw_reach(const struct timed_picture *p, struct cw_chart *chart,
                       const struct cw_plot *plot, const struct quantity *q, size_t setup,
                       size_t style, double y) {
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < p->timed->n; i++)
        if (p->timed->runs[i].setup == setup)
            cw_range_add(&low, &high, cw_timed_of(&p->timed->runs[i], q->which)->value);
    if (low <= high)
        cw_chart_line(chart, style, "", cw_axis_at(&plot->x, low), y, cw_axis_at(&plot->x, high),
                      y);
}

static void draw_setup(const struct timed_picture *p, struct cw_chart *chart,
                       const struct cw_plot *plot, const struct quantity *q,
                       const struct cw_timed_setup *setup, double y) {
    size_t at = scene_setup(p->scene, setup->setup);
    const struct cw_timed_group *group = &setup->of[q->which];
    struct cw_text text = {0}, name = {0};
    if (at == p->scene->n_setups || !group->n) return;
    const struct cw_scene_setup *named = &p->scene->setups[at];
    add_group(&text, group, q->unit);
    cw_chart_say(chart, &text);
    double middle = y + CW_CHART_ROW + 4 + 0.5 * p->spread + 6, room = plot->x.to - plot->x.from;
    if (text.bytes) {
        cw_chart_text(chart, plot->x.to, y + 15, 'e', "halo", text.bytes);
        room -= cw_label_width(text.bytes, CW_CHART_FONT) + 12;
    }
    cw_label_shorten(&name, named->name, room, CW_CHART_STRONG);
    if (name.bytes) cw_chart_text(chart, plot->x.from, y + 15, 's', "strong halo", name.bytes);
    double mean = cw_axis_at(&plot->x, group->mean);
    if (isfinite(group->sd)) {
        double low = cw_axis_at(&plot->x, group->mean - group->sd);
        double high = cw_axis_at(&plot->x, group->mean + group->sd);
        cw_chart_rect(chart, named->style, "", low, middle - 0.5 * p->spread - 6, high - low,
                      p->spread + 12);
    }
    cw_chart_line(chart, named->style, "bold", mean, middle - 0.5 * p->spread - 6, mean,
                  middle + 0.5 * p->spread + 6);
    if (p->many)
        draw_reach(p, chart, plot, q, setup->setup, named->style, middle);
    else
        draw_runs(p, chart, plot, q, setup, middle);
    chart->fails |= text.failed || name.failed;
    cw_text_free(&text);
    cw_text_free(&name);
}

static bool draw_quantity(const struct timed_picture *p, struct cw_chart *chart,
                          const struct quantity *q) {
    double low, high, row = CW_CHART_ROW + 4 + p->spread + 22;
    size_t shown = 0;
    char means[64];
    if (!value_range(p, q->which, &low, &high)) return false;
    for (size_t s = 0; s < p->timed->n_setups; s++) shown += p->timed->setups[s].of[q->which].n > 0;
    cw_print(means, sizeof means, "%s, %s", q->name, cw_unit_shown(CW_UNITS_METRIC, q->unit).unit);
    double bottom = chart->y + row * (double)shown;
    struct cw_plot plot = {
        .x = cw_chart_axis(chart, q->unit, low, high, 24, CW_CHART_RIGHT - 12, 5, true),
        .y = cw_axis_make(0, 1, bottom, chart->y, 2, false),
        .x_means = means,
        .y_means = "setups, and runs from the first down to the last"};
    cw_plot_open(chart, &plot, true, false);
    double y = chart->y;
    for (size_t s = 0; s < p->timed->n_setups; s++) {
        if (!p->timed->setups[s].of[q->which].n) continue;
        draw_setup(p, chart, &plot, q, &p->timed->setups[s], y);
        y += row;
    }
    cw_plot_close(chart, &plot, true);
    return true;
}

static void add_gates(const struct timed_picture *p, struct cw_text *text) {
    cw_figure_add(text, p->timed->gates_m[0], 0, false);
    cw_text_add(text, " and ");
    cw_figure_add(text, p->timed->gates_m[p->timed->n_gates - 1], 0, false);
    cw_text_add(text, " m along the road");
}

static void describe(const struct timed_picture *p, struct cw_text *text) {
    cw_text_add(text, "As measured, with no model behind it; gates at ");
    add_gates(p, text);
    for (size_t s = 0; s < p->timed->n_setups; s++) {
        size_t at = scene_setup(p->scene, p->timed->setups[s].setup);
        if (at == p->scene->n_setups) continue;
        for (size_t q = 0; q < sizeof quantities / sizeof *quantities; q++) {
            const struct cw_timed_group *group = &p->timed->setups[s].of[quantities[q].which];
            if (!group->n) continue;
            cw_text_add(text, "; %s, %s: ", p->scene->setups[at].name, quantities[q].name);
            add_group(text, group, quantities[q].unit);
        }
    }
    cw_text_add(text, ".");
}

enum cw_status cw_picture_timed(const struct cw_scene *scene, struct cw_chart *chart,
                                struct cw_text *description, struct cw_error *error) {
    const struct cw_analysed *o = scene->of;
    struct timed_picture p = {.scene = scene, .timed = &o->timed};
    struct cw_text note = {0};
    bool any = false;
    enum cw_status status = CW_OK;
    size_t most = 1;
    for (size_t s = 0; s < p.timed->n_setups; s++)
        if (p.timed->setups[s].runs > most) most = p.timed->setups[s].runs;
    p.many = p.timed->n > CW_SCENE_RUNS_MOST;
    p.spread = p.many ? 8 : fmin(90, 7.0 * (double)(most - 1));
    for (size_t q = 0; q < sizeof quantities / sizeof *quantities; q++)
        any |= draw_quantity(&p, chart, &quantities[q]);
    if (!any) {
        status = cw_error_set(error, CW_E_DATA, o->outing.file, 0,
                              "no run crosses the gates: no times to draw");
        goto cleanup;
    }
    cw_text_add(&note, "Gates at ");
    add_gates(&p, &note);
    cw_text_add(&note, p.many ? ". Line: from the lowest run to the highest, too many to "
                                "draw each. Band: mean \xc2\xb1 the runs' standard deviation."
                              : ". Each setup's runs from the first down to the last. Band: "
                                "mean \xc2\xb1 the runs' standard deviation.");
    if (note.bytes) cw_chart_note(chart, note.bytes);
    describe(&p, description);
    chart->fails |= note.failed;
cleanup:
    cw_text_free(&note);
    return status;
}
