/* The runs' lines in plan, to one scale both ways, with the road's ends, a scale bar and north. */
#include <math.h>
#include <stdlib.h>

#include "fit/workings.h"
#include "picture/chart.h"
#include "picture/pictures.h"
#include "picture/scene.h"
#include "road/line.h"

struct ground {
    const struct cw_scene *scene;
    const struct cw_road *road;
    struct cw_plot plot;
    double units_per_m;
    double *east_m, *north_m; /* room for the longest run */
    size_t n_turned;
};

/* A run's positions in the road's plane; how many. */
static size_t positions_of(const struct ground *g, const struct cw_run *run) {
    const struct cw_analysed *o = g->scene->of;
    size_t n = 0;
    if (!o->motions || run->recording >= o->n_recordings) return 0;
    const struct cw_motion *motion = &o->motions[run->recording];
    for (size_t i = run->first; i <= run->last && i < motion->n; i++, n++) {
        double latitude, longitude;
        g->east_m[n] = g->north_m[n] = NAN;
        if (!isfinite(motion->east_m[i] + motion->north_m[i])) continue;
        cw_metric_to_globe(&motion->metric, motion->east_m[i], motion->north_m[i], &latitude,
                           &longitude);
        cw_metric_to_plane(&g->road->metric, latitude, longitude, &g->east_m[n], &g->north_m[n]);
    }
    return n;
}

static void add_to_range(const struct ground *g, size_t n, double range[4]) {
    for (size_t i = 0; i < n; i++) {
        cw_range_add(&range[0], &range[1], g->east_m[i]);
        cw_range_add(&range[2], &range[3], g->north_m[i]);
    }
}

/* North is up; the picture is as high as the road asks for, within reason. */
static bool lay_out(struct ground *g, struct cw_chart *chart) {
    double range[4] = {INFINITY, -INFINITY, INFINITY, -INFINITY};
    for (size_t i = 0; i < g->scene->n; i++)
        if (cw_scene_on_road(g->scene, g->scene->runs[i].data))
            add_to_range(g, positions_of(g, g->scene->runs[i].run), range);
    for (size_t i = 0; i < g->road->n; i++) {
        cw_range_add(&range[0], &range[1], g->road->east_m[i]);
        cw_range_add(&range[2], &range[3], g->road->north_m[i]);
    }
    if (range[0] > range[1] || range[2] > range[3]) return false;
    double wide = fmax(20, range[1] - range[0]), high = fmax(20, range[3] - range[2]);
    double across = CW_CHART_WIDTH - 24 - 2 * 24, most = 400, least = 150;
    g->units_per_m = fmin(across / wide, most / high);
    double height = fmax(least, high * g->units_per_m + 2 * 24);
    double half_x = 0.5 * (CW_CHART_WIDTH - 24) / g->units_per_m;
    double half_y = 0.5 * height / g->units_per_m;
    double x = 0.5 * (range[0] + range[1]), y = 0.5 * (range[2] + range[3]);
    g->plot = (struct cw_plot){.x = {.low = x - half_x,
                                     .high = x + half_x,
                                     .from = 12,
                                     .to = CW_CHART_WIDTH - 12,
                                     .step = INFINITY},
                               .y = {.low = y - half_y,
                                     .high = y + half_y,
                                     .from = chart->y + height,
                                     .to = chart->y,
                                     .step = INFINITY},
                               .x_means = "east, m",
                               .y_means = "north, m"};
    return true;
}

static void draw_line(const struct ground *g, struct cw_chart *chart, const struct cw_run *run,
                      size_t style, const char *setup) {
    size_t n = positions_of(g, run);
    cw_scene_open_run(g->scene, chart, run->number, setup);
    cw_plot_line(chart, &g->plot, style, "thin", n, g->east_m, g->north_m);
    cw_scene_close_run(chart);
}

static void draw_runs(struct ground *g, struct cw_chart *chart) {
    const struct cw_scene *scene = g->scene;
    const struct cw_runs *runs = &scene->of->runs;
    cw_plot_line(chart, &g->plot, 0, "road plain", g->road->n, g->road->east_m, g->road->north_m);
    for (size_t i = 0; i < runs->n && g->n_turned < CW_SCENE_RUNS_MOST; i++) {
        if (runs->at[i].kept || runs->at[i].road != scene->road) continue;
        draw_line(g, chart, &runs->at[i], CW_STYLE_NONE, NULL);
        g->n_turned++;
    }
    for (size_t i = 0; !scene->many_on_road && i < scene->n; i++)
        if (cw_scene_on_road(scene, scene->runs[i].data))
            draw_line(g, chart, scene->runs[i].run, scene->setups[scene->runs[i].setup].style,
                      scene->setups[scene->runs[i].setup].name);
}

/* A round length, as round as it is in the chart's units. */
static void add_length(const struct cw_chart *chart, double length_m, struct cw_text *text) {
    struct cw_unit_shown shown = cw_unit_shown(chart->units, "m");
    cw_figure_add(text, length_m * shown.factor, 0, false);
    cw_text_add(text, " %s", shown.unit);
}

/* A place on the road with its name, clear of the line where there is room. */
static void draw_place(const struct ground *g, struct cw_chart *chart, struct cw_labels *labels,
                       double s_m, bool tick, const char *name) {
    const struct cw_line line = {g->road->n, g->road->s_m, g->road->east_m, g->road->north_m};
    double e, n, ahead_e, ahead_n;
    struct cw_box at;
    cw_line_at(&line, s_m, &e, &n);
    cw_line_at(&line, s_m + 5, &ahead_e, &ahead_n);
    double length = hypot(ahead_e - e, ahead_n - n);
    double x = cw_axis_at(&g->plot.x, e), y = cw_axis_at(&g->plot.y, n);
    if (!(length > 0)) return;
    double across_x = (ahead_n - n) / length, across_y = (ahead_e - e) / length;
    if (tick)
        cw_chart_line(chart, 0, "gate", x - 8 * across_x, y - 8 * across_y, x + 8 * across_x,
                      y + 8 * across_y);
    if (cw_labels_place(labels, x, y, cw_label_width(name, CW_CHART_FONT), 17, 11, &at))
        cw_chart_text(chart, at.left, at.bottom - 4, 's', "halo", name);
}

static void draw_places(const struct ground *g, struct cw_chart *chart) {
    struct cw_box box = cw_plot_box(&g->plot);
    struct cw_labels labels = {.within = box};
    double length = g->road->s_m[g->road->n - 1];
    /* The line itself is taken. */
    size_t step = 1 + g->road->n / 40;
    for (size_t i = 0; i < g->road->n; i += step) {
        double x = cw_axis_at(&g->plot.x, g->road->east_m[i]);
        double y = cw_axis_at(&g->plot.y, g->road->north_m[i]);
        cw_labels_take(&labels, &(struct cw_box){x - 3, y - 3, x + 3, y + 3});
    }
    draw_place(g, chart, &labels, 0, true, "start");
    draw_place(g, chart, &labels, length, true, "end");
    double step_m = cw_chart_axis(chart, "m", 0, length, 0, 1, 6, false).step;
    for (double s = step_m; s < length - 0.25 * step_m && labels.n < CW_LABELS_MOST; s += step_m) {
        struct cw_text name = {0};
        add_length(chart, s, &name);
        if (name.bytes) draw_place(g, chart, &labels, s, true, name.bytes);
        chart->fails |= name.failed;
        cw_text_free(&name);
    }
}

/* A round length of a fifth to two fifths of the width, under the plot, and north beside it. */
static void draw_scale(const struct ground *g, struct cw_chart *chart) {
    struct cw_box box = cw_plot_box(&g->plot);
    double across = (box.right - box.left) / g->units_per_m;
    double length = cw_chart_axis(chart, "m", 0, across, 0, 1, 5, false).step, y = chart->y + 14;
    double x = box.left, to = x + length * g->units_per_m;
    struct cw_text text = {0};
    cw_chart_line(chart, 0, "gate", x, y, to, y);
    cw_chart_line(chart, 0, "gate", x, y - 4, x, y + 4);
    cw_chart_line(chart, 0, "gate", to, y - 4, to, y + 4);
    add_length(chart, length, &text);
    if (text.bytes) cw_chart_text(chart, to + 8, y + 5, 's', "", text.bytes);
    chart->fails |= text.failed;
    cw_text_free(&text);
    x = box.right - 6;
    cw_chart_line(chart, 0, "gate", x, y + 8, x, y - 16);
    cw_chart_line(chart, 0, "gate", x - 5, y - 8, x, y - 16);
    cw_chart_line(chart, 0, "gate", x, y - 16, x + 5, y - 8);
    cw_chart_text(chart, x - 9, y + 5, 'e', "", "N");
    chart->y += 24;
}

static size_t most_samples(const struct cw_runs *runs) {
    size_t most = 1;
    for (size_t i = 0; i < runs->n; i++) {
        size_t n = runs->at[i].last - runs->at[i].first + 1;
        if (runs->at[i].last >= runs->at[i].first && n > most) most = n;
    }
    return most;
}

static void describe(const struct ground *g, struct cw_text *text) {
    cw_text_add(text, "Lines of %zu runs on the ground along a road of ", g->scene->n_on_road);
    cw_figure_add(text, g->road->s_m[g->road->n - 1], 0, false);
    cw_text_add(text, " m, north up. Positions scatter across the road by ");
    cw_figure_add(text, g->road->spread_m, 1, false);
    cw_text_add(text, " m.");
}

enum cw_status cw_picture_ground(const struct cw_scene *scene, struct cw_chart *chart,
                                 struct cw_text *description, struct cw_error *error) {
    struct ground g = {.scene = scene, .road = &scene->of->fit.workings->roads[scene->road]};
    struct cw_text note = {0};
    enum cw_status status = CW_OK;
    size_t most = most_samples(&scene->of->runs);
    g.east_m = malloc(2 * most * sizeof *g.east_m);
    if (!g.east_m) return cw_error_memory(error);
    g.north_m = g.east_m + most;
    cw_scene_key(scene, chart, true);
    if (!lay_out(&g, chart)) {
        status = cw_error_set(error, CW_E_DATA, scene->of->outing.file, 0,
                              "the runs hold no positions: no lines on the ground to draw");
        goto cleanup;
    }
    cw_plot_open(chart, &g.plot, false, false);
    draw_runs(&g, chart);
    draw_places(&g, chart);
    cw_plot_close(chart, &g.plot, false);
    draw_scale(&g, chart);
    cw_text_add(&note, "Positions as recorded");
    if (scene->n_on_road > 1 && isfinite(g.road->spread_m)) {
        cw_text_add(&note, "; they scatter across the road by ");
        cw_figure_add(&note, g.road->spread_m, 1, false);
        cw_text_add(&note, "\xc2\xa0m");
    }
    cw_text_add(&note, ".");
    if (scene->many_on_road)
        cw_text_add(&note, " Too many runs to draw each: the line is their median.");
    if (g.n_turned) cw_text_add(&note, " Grey and dashed: runs turned down.");
    if (note.bytes) cw_chart_note(chart, note.bytes);
    cw_scene_note_elsewhere(scene, chart);
    describe(&g, description);
    chart->fails |= note.failed;
cleanup:
    cw_text_free(&note);
    free(g.east_m);
    return status;
}
