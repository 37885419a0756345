/* CdA of every run by setup, in ride order, with intervals; each setup's mean over them. */
#include <math.h>
#include <stdlib.h>

#include "picture/chart.h"
#include "picture/pictures.h"
#include "picture/scene.h"
#include "report/estimates.h"
#include "report/heights.h"

struct layout {
    const struct cw_scene *scene;
    struct cw_plot plot;
    double row, head, gap; /* heights: a run's row, a setup's heading, between setups */
    double *sorted;        /* room for a number a run */
};

static int rising(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static const struct cw_estimate *estimate_of(const struct cw_scene_run *run) {
    return &run->fit->together_cda_m2;
}

static bool is_known(const struct cw_scene_run *run) {
    return run->fit->together_identifiable && isfinite(estimate_of(run)->value);
}

static double half_width(const struct cw_scene_run *run) {
    return 0.5 * (estimate_of(run)->high - estimate_of(run)->low);
}

/* Wide enough for all values, and for the intervals but those that would squash the rest. */
static bool value_range(const struct layout *l, double *low, double *high) {
    const struct cw_scene *scene = l->scene;
    size_t n = 0;
    *low = INFINITY;
    *high = -INFINITY;
    for (size_t i = 0; i < scene->n; i++)
        if (is_known(&scene->runs[i]) && isfinite(half_width(&scene->runs[i])))
            l->sorted[n++] = half_width(&scene->runs[i]);
    qsort(l->sorted, n, sizeof *l->sorted, rising);
    double usual = n ? 4 * l->sorted[n / 2] : 0;
    for (size_t i = 0; i < scene->n; i++) {
        const struct cw_scene_run *run = &scene->runs[i];
        if (!is_known(run)) continue;
        cw_range_add(low, high, estimate_of(run)->value);
        if (scene->many || !(half_width(run) <= usual)) continue;
        cw_range_add(low, high, estimate_of(run)->low);
        cw_range_add(low, high, estimate_of(run)->high);
    }
    for (size_t s = 0; s < scene->n_setups; s++) {
        const struct cw_setup_result *r = scene->setups[s].result;
        if (!r) continue;
        cw_range_add(low, high, r->cda_m2.value);
        if (usual > 0 && r->cda_m2.high - r->cda_m2.low > 2 * usual) continue;
        cw_range_add(low, high, r->cda_m2.low);
        cw_range_add(low, high, r->cda_m2.high);
    }
    return *low <= *high;
}

/* Cuts an interval to the plot; false for one outside it, and where there is none. */
static bool within(const struct layout *l, double low, double high, double *from, double *to) {
    if (isnan(low + high)) return false;
    *from = cw_axis_at(&l->plot.x, fmax(low, l->plot.x.low));
    *to = cw_axis_at(&l->plot.x, fmin(high, l->plot.x.high));
    return *from <= *to;
}

/* All that is known as a thin line, the noise's part of it as a thick one. */
static void draw_interval(const struct layout *l, struct cw_chart *chart, size_t style,
                          const struct cw_estimate *estimate, double y) {
    struct cw_estimate noise = cw_estimate_of_noise(*estimate);
    double from, to;
    if (within(l, estimate->low, estimate->high, &from, &to))
        cw_chart_line(chart, style, "", from, y, to, y);
    if (within(l, noise.low, noise.high, &from, &to))
        cw_chart_line(chart, style, "noise", from, y, to, y);
}

/* The same as areas, one on the other. */
static void draw_band(const struct layout *l, struct cw_chart *chart, size_t style,
                      const struct cw_estimate *estimate, double y, double height) {
    struct cw_estimate noise = cw_estimate_of_noise(*estimate);
    double from, to;
    if (within(l, estimate->low, estimate->high, &from, &to))
        cw_chart_rect(chart, style, "", from, y, to - from, height);
    if (within(l, noise.low, noise.high, &from, &to))
        cw_chart_rect(chart, style, "", from, y, to - from, height);
    if (within(l, estimate->value, estimate->value, &from, &to))
        cw_chart_line(chart, style, "bold", from, y, from, y + height);
}

static void draw_run(const struct layout *l, struct cw_chart *chart, const struct cw_scene_run *run,
                     double y) {
    const struct cw_scene *scene = l->scene;
    const struct cw_scene_setup *setup = &scene->setups[run->setup];
    struct cw_text value = {0}, number = {0};
    cw_text_add(&number, "%ld", run->run->number);
    cw_scene_name_run(scene, run, &value);
    cw_text_add(&value, "CdA ");
    cw_scene_add_estimate(&value, estimate_of(run), "m\xc2\xb2", false);
    chart->fails |= value.failed || number.failed;
    cw_scene_open_run(scene, chart, run->run->number, setup->name);
    if (number.bytes) cw_chart_text(chart, l->plot.x.from - 8, y + 5, 'e', "mute", number.bytes);
    if (!is_known(run)) {
        cw_chart_text(chart, l->plot.x.from + 8, y + 5, 's', "mute halo", "?");
    } else {
        draw_interval(l, chart, setup->style, estimate_of(run), y);
        cw_chart_mark(chart, setup->style, cw_axis_at(&l->plot.x, estimate_of(run)->value), y, 5,
                      value.bytes);
    }
    cw_scene_close_run(chart);
    cw_text_free(&value);
    cw_text_free(&number);
}

/* Lowest to highest as a line, the middle half as a box, and the mean. */
static void draw_spread(const struct layout *l, struct cw_chart *chart, size_t s, double y) {
    const struct cw_scene *scene = l->scene;
    size_t n = 0;
    double sum = 0;
    for (size_t i = 0; i < scene->n; i++)
        if (scene->runs[i].setup == s && is_known(&scene->runs[i]))
            sum += l->sorted[n++] = estimate_of(&scene->runs[i])->value;
    if (!n) return;
    qsort(l->sorted, n, sizeof *l->sorted, rising);
    size_t style = scene->setups[s].style;
    const struct cw_axis *x = &l->plot.x;
    double q1 = cw_axis_at(x, l->sorted[n / 4]), q3 = cw_axis_at(x, l->sorted[n - 1 - n / 4]);
    cw_chart_line(chart, style, "", cw_axis_at(x, l->sorted[0]), y, cw_axis_at(x, l->sorted[n - 1]),
                  y);
    cw_chart_rect(chart, style, "open", q1, y - 7, q3 - q1, 14);
    cw_chart_mark(chart, style, cw_axis_at(x, sum / (double)n), y, 5, scene->setups[s].name);
}

/* A level that is not told is no more than a range. */
static void add_mean(const struct cw_setup_result *setup, struct cw_text *text) {
    int decimals = cw_error_decimals(setup->cda_m2.standard_error);
    if (cw_level_is_told(setup))
        cw_scene_add_estimate(text, &setup->cda_m2, "m\xc2\xb2", false);
    else if (isfinite(setup->cda_m2.low + setup->cda_m2.high))
        cw_text_add(text, "not told: %.*f to %.*f m\xc2\xb2", decimals, setup->cda_m2.low, decimals,
                    setup->cda_m2.high);
}

static void draw_heading(const struct layout *l, struct cw_chart *chart,
                         const struct cw_scene_setup *setup, double y) {
    struct cw_text mean = {0}, name = {0};
    double left = l->plot.x.from + 8, room = l->plot.x.to - 4;
    if (setup->result) {
        add_mean(setup->result, &mean);
        if (mean.bytes) {
            cw_chart_text(chart, l->plot.x.to - 4, y, 'e', "halo", mean.bytes);
            room -= cw_label_width(mean.bytes, CW_CHART_FONT) + 6;
        }
    }
    cw_label_shorten(&name, setup->name, room - left, CW_CHART_STRONG);
    if (name.bytes) cw_chart_text(chart, left, y, 's', "strong halo", name.bytes);
    if (setup->against) {
        const char *reference = l->scene->analysis->compare.setups[0].name;
        cw_text_free(&mean);
        cw_scene_add_estimate(&mean, &setup->against->percent, "%", true);
        cw_text_add(&mean, " against ");
        cw_label_shorten(&mean, reference,
                         l->plot.x.to - 4 - left -
                             cw_label_width("\xe2\x88\x92"
                                            "00.00 % "
                                            "(\xe2\x88\x92"
                                            "00.00 to "
                                            "\xe2\x88\x92"
                                            "00.00) against ",
                                            CW_CHART_FONT),
                         CW_CHART_FONT);
        if (mean.bytes) cw_chart_text(chart, left, y + CW_CHART_ROW, 's', "halo", mean.bytes);
    }
    chart->fails |= mean.failed || name.failed;
    cw_text_free(&mean);
    cw_text_free(&name);
}

static double rows_height(const struct layout *l, size_t s) {
    return l->scene->many ? 26 : l->row * (double)l->scene->setups[s].n;
}

static double head_height(const struct layout *l, size_t s) {
    return l->head + (l->scene->setups[s].against ? CW_CHART_ROW : 0);
}

static void draw(const struct layout *l, struct cw_chart *chart) {
    const struct cw_scene *scene = l->scene;
    double y = l->plot.y.to;
    for (size_t s = 0; s < scene->n_setups; s++) {
        const struct cw_scene_setup *setup = &scene->setups[s];
        draw_heading(l, chart, setup, y + 17);
        y += head_height(l, s);
        if (setup->result)
            draw_band(l, chart, setup->style, &setup->result->cda_m2, y, rows_height(l, s));
        if (scene->many) draw_spread(l, chart, s, y + 13);
        double row = y;
        for (size_t i = 0; !scene->many && i < scene->n; i++) {
            if (scene->runs[i].setup != s) continue;
            draw_run(l, chart, &scene->runs[i], row + 0.5 * l->row);
            row += l->row;
        }
        y += rows_height(l, s) + l->gap;
    }
}

static void describe(const struct cw_scene *scene, struct cw_text *text) {
    cw_text_add(text, "Drag area CdA of %zu runs", scene->n);
    for (size_t s = 0; s < scene->n_setups; s++) {
        const struct cw_scene_setup *setup = &scene->setups[s];
        cw_text_add(text, "%s %s: %zu runs", s ? ";" : ".", setup->name, setup->n);
        if (setup->result) {
            cw_text_add(text, ", mean ");
            add_mean(setup->result, text);
        }
        if (setup->against) {
            cw_text_add(text, ", ");
            cw_scene_add_estimate(text, &setup->against->percent, "%", true);
            cw_text_add(text, " against the reference");
        }
    }
    cw_text_add(text, ". Brackets are 95 %% intervals, everything counted.");
}

enum cw_status cw_picture_setups(const struct cw_scene *scene, struct cw_chart *chart,
                                 struct cw_text *description, struct cw_error *error) {
    struct layout l = {.scene = scene, .row = scene->n <= 16 ? 18 : 14.5, .head = 26, .gap = 8};
    double low, high, height = 0;
    size_t unknown = 0;
    enum cw_status status = CW_OK;
    l.sorted = calloc(scene->n, sizeof *l.sorted);
    if (!l.sorted) return cw_error_memory(error);
    if (!value_range(&l, &low, &high)) {
        status = cw_error_set(error, CW_E_DATA, scene->of->outing.file, 0,
                              "no run's CdA can be told apart from Crr: no setups to draw");
        goto cleanup;
    }
    for (size_t s = 0; s < scene->n_setups; s++)
        height += head_height(&l, s) + rows_height(&l, s) + l.gap;
    l.plot = (struct cw_plot){
        .x = cw_axis_make(low, high, 40, CW_CHART_RIGHT, 5, true),
        .y = cw_axis_make(0, (double)scene->n, chart->y + height, chart->y, 5, false),
        .x_means = "CdA, m\xc2\xb2",
        .y_means = "runs in the order ridden"};
    cw_plot_open(chart, &l.plot, true, false);
    draw(&l, chart);
    cw_plot_close(chart, &l.plot, true);
    cw_chart_note(
        chart,
        scene->many
            ? "Too many runs to draw each: a line from the lowest to the "
              "highest, a box around the middle half, a mark at their mean."
            : "Left: the run's number, in the order ridden. Thick lines: 95\xc2\xa0% "
              "intervals by noise alone. Thin: with mass, air, wind and heights too. "
              "Bands: the setup's mean, likewise. What all share mostly cancels in a difference.");
    for (size_t i = 0; i < scene->n; i++) unknown += !is_known(&scene->runs[i]);
    if (unknown && !scene->many)
        cw_chart_note(chart, "?: the run cannot tell CdA from Crr.");
    else if (unknown)
        cw_chart_note(chart, "Runs that cannot tell CdA from Crr are left out.");
    cw_scene_note_outliers(scene, chart);
    if (scene->analysis->n > 1 && scene->analysis->compared)
        cw_chart_note(chart, "The means are over all outings.");
    describe(scene, description);
cleanup:
    free(l.sorted);
    return status;
}
