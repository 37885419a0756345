/* Speed of each run along the road, and under it the difference from the mean of all. */
#include <math.h>
#include <stdlib.h>

#include "fit/run_data.h"
#include "picture/chart.h"
#include "picture/pictures.h"
#include "picture/scene.h"

#define POINTS 200

struct speed {
    const struct cw_scene *scene;
    struct cw_plot over, under;
    bool stretch; /* whether the runs have one in common; without, there is no lower plot */
    double from_m, to_m;
    double s_m[POINTS], *off_ms; /* scene->n rows of POINTS */
    double mean_ms[POINTS];
};

static bool on_road(const struct cw_scene *scene, size_t i) {
    return cw_scene_on_road(scene, scene->runs[i].data);
}

/* Differences from the mean of the runs that go the whole stretch. */
static void subtract_mean(struct speed *p) {
    const struct cw_scene *scene = p->scene;
    double edge = 1e-6 * (p->to_m - p->from_m);
    for (int k = 0; k < POINTS; k++) {
        size_t n = 0;
        p->s_m[k] = p->from_m + (p->to_m - p->from_m) * k / (POINTS - 1);
        p->mean_ms[k] = 0;
        for (size_t i = 0; i < scene->n; i++) {
            const struct cw_run_data *data = scene->runs[i].data;
            double *off = &p->off_ms[i * POINTS + (size_t)k];
            *off = on_road(scene, i) ? cw_scene_speed_at(data, p->s_m[k]) : NAN;
            if (isnan(*off) || data->s_m[0] > p->from_m + edge ||
                data->s_m[data->n - 1] < p->to_m - edge)
                continue;
            p->mean_ms[k] += *off;
            n++;
        }
        p->mean_ms[k] = n ? p->mean_ms[k] / (double)n : NAN;
        for (size_t i = 0; i < scene->n; i++) p->off_ms[i * POINTS + (size_t)k] -= p->mean_ms[k];
    }
}

static bool lay_out(struct speed *p, struct cw_chart *chart) {
    const struct cw_scene *scene = p->scene;
    double low = INFINITY, high = -INFINITY, off_low = INFINITY, off_high = -INFINITY;
    double from = INFINITY, to = -INFINITY;
    for (size_t i = 0; i < scene->n; i++) {
        const struct cw_run_data *data = scene->runs[i].data;
        if (!on_road(scene, i)) continue;
        for (size_t k = 0; k < data->n; k++) cw_range_add(&low, &high, data->speed_ms[k]);
        for (size_t k = 0; p->stretch && k < POINTS; k++)
            cw_range_add(&off_low, &off_high, p->off_ms[i * POINTS + k]);
    }
    cw_scene_reach(scene, &from, &to);
    if (low > high || from > to) return false;
    double top = chart->y + CW_CHART_ROW + 11;
    double right = CW_CHART_RIGHT - cw_scene_numbers_width(scene);
    p->over = (struct cw_plot){
        .x = cw_chart_axis(chart, "m", from, to, CW_CHART_LEFT, right, 5, false),
        .y = cw_chart_axis(chart, "m/s", fmin(low, 0.5 * high), high, top + 170, top, 5, true),
        .x_means = "distance along the road, m",
        .y_means = "speed, km/h"};
    top += 170 + 17 + CW_CHART_ROW;
    double room = fmax(150, cw_scene_numbers_height(scene));
    p->under = (struct cw_plot){
        .x = p->over.x,
        .y = cw_chart_axis(chart, "m/s", off_low, off_high, top + room, top, 5, true),
        .x_means = p->over.x_means,
        .y_means = "faster (+) or slower than the mean, km/h"};
    return true;
}

static void draw_over(const struct speed *p, struct cw_chart *chart) {
    const struct cw_scene *scene = p->scene;
    for (size_t i = 0; i < scene->n; i++) {
        const struct cw_scene_run *run = &scene->runs[i];
        const struct cw_scene_setup *setup = &scene->setups[run->setup];
        struct cw_text value = {0};
        if (!on_road(scene, i)) continue;
        size_t last = run->data->n - 1;
        cw_scene_name_run(scene, run, &value);
        cw_figure_add_kmh(&value, run->data->speed_ms[last], 1, false);
        cw_text_add(&value, " at the end, ");
        cw_figure_add_kmh(&value, run->data->speed_ms[0], 1, false);
        cw_text_add(&value, " at the start");
        cw_scene_open_run(scene, chart, run->run->number, setup->name);
        cw_plot_line(chart, &p->over, setup->style, "", run->data->n, run->data->s_m,
                     run->data->speed_ms);
        cw_chart_mark(chart, setup->style, cw_axis_at(&p->over.x, run->data->s_m[last]),
                      cw_axis_at(&p->over.y, run->data->speed_ms[last]), 4, value.bytes);
        cw_scene_close_run(chart);
        chart->fails |= value.failed;
        cw_text_free(&value);
    }
}

/* A setup's range and mean; over: of the speeds, else of the differences. */
static void draw_ranges(const struct speed *p, struct cw_chart *chart, bool over) {
    const struct cw_scene *scene = p->scene;
    const struct cw_plot *plot = over ? &p->over : &p->under;
    double low[POINTS], high[POINTS], mean[POINTS];
    for (size_t s = 0; s < scene->n_setups; s++) {
        for (size_t k = 0; k < POINTS; k++) {
            double level = over ? p->mean_ms[k] : 0;
            size_t n = 0;
            low[k] = INFINITY;
            high[k] = -INFINITY;
            mean[k] = 0;
            for (size_t i = 0; i < scene->n; i++) {
                double off = p->off_ms[i * POINTS + k];
                if (scene->runs[i].setup != s || isnan(off)) continue;
                cw_range_add(&low[k], &high[k], level + off);
                mean[k] += level + off;
                n++;
            }
            mean[k] = n ? mean[k] / (double)n : NAN;
        }
        size_t style = scene->setups[s].style;
        cw_plot_band(chart, plot, style, "", POINTS, p->s_m, low, high);
        cw_plot_line(chart, plot, style, "", POINTS, p->s_m, mean);
        cw_chart_mark(chart, style, cw_axis_at(&plot->x, p->s_m[POINTS - 1]),
                      cw_axis_at(&plot->y, mean[POINTS - 1]), 4.5, scene->setups[s].name);
    }
}

static void draw_under(const struct speed *p, struct cw_chart *chart) {
    const struct cw_scene *scene = p->scene;
    double end_m[CW_SCENE_NUMBERED_MOST], end_ms[CW_SCENE_NUMBERED_MOST];
    for (size_t i = 0; i < scene->n; i++) {
        const struct cw_scene_setup *setup = &scene->setups[scene->runs[i].setup];
        const double *off = p->off_ms + i * POINTS;
        size_t last = POINTS; /* the last point that there is, plus 1 */
        while (last > 0 && isnan(off[last - 1])) last--;
        if (i < CW_SCENE_NUMBERED_MOST) {
            end_m[i] = last ? p->s_m[last - 1] : NAN;
            end_ms[i] = last ? off[last - 1] : NAN;
        }
        if (!last) continue;
        cw_scene_open_run(scene, chart, scene->runs[i].run->number, setup->name);
        cw_plot_line(chart, &p->under, setup->style, "", POINTS, p->s_m, off);
        cw_chart_mark(chart, setup->style, cw_axis_at(&p->under.x, p->s_m[last - 1]),
                      cw_axis_at(&p->under.y, off[last - 1]), 4, NULL);
        cw_scene_close_run(chart);
    }
    cw_scene_number_ends(scene, chart, &p->under, end_m, end_ms);
}

static void describe(const struct speed *p, struct cw_text *text) {
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < p->scene->n; i++)
        if (on_road(p->scene, i)) cw_range_add(&low, &high, p->scene->runs[i].run->top_speed_ms);
    cw_text_add(text, "Speed of %zu runs against distance along the road", p->scene->n_on_road);
    if (low <= high) {
        cw_text_add(text, "; their top speeds are ");
        cw_figure_add_kmh_range(text, low, high, 1, false);
    }
    cw_text_add(text, ".");
}

enum cw_status cw_picture_speed(const struct cw_scene *scene, struct cw_chart *chart,
                                struct cw_text *description, struct cw_error *error) {
    struct speed p = {.scene = scene};
    enum cw_status status = CW_OK;
    p.off_ms = malloc(scene->n * POINTS * sizeof *p.off_ms);
    if (!p.off_ms) return cw_error_memory(error);
    p.stretch = cw_scene_stretch(scene, &p.from_m, &p.to_m, error) >= 0;
    if (p.stretch) subtract_mean(&p);
    bool ranges = scene->many_on_road && p.stretch;
    cw_scene_key(scene, chart, true);
    if (!lay_out(&p, chart)) {
        status = cw_error_set(error, CW_E_DATA, scene->of->outing.file, 0,
                              "no run on the road has speeds to draw");
        goto cleanup;
    }
    bool under = p.stretch && scene->n_on_road > 1;
    cw_plot_open(chart, &p.over, !under, true);
    if (ranges)
        draw_ranges(&p, chart, true);
    else
        draw_over(&p, chart);
    cw_plot_close(chart, &p.over, !under);
    if (under) {
        cw_plot_open(chart, &p.under, true, true);
        cw_chart_line(chart, 0, "rule", p.under.x.from, cw_axis_at(&p.under.y, 0), p.under.x.to,
                      cw_axis_at(&p.under.y, 0));
        if (ranges)
            draw_ranges(&p, chart, false);
        else
            draw_under(&p, chart);
        cw_plot_close(chart, &p.under, true);
    }
    if (ranges)
        cw_chart_note(chart, "Too many runs to draw each: bands span each setup's runs, lines "
                             "are their means.");
    cw_scene_note_elsewhere(scene, chart);
    describe(&p, description);
cleanup:
    free(p.off_ms);
    return status;
}
