/* Where on the road the seconds come from: each setup's mean time to a place against the
 * reference's. */
#include <math.h>
#include <stdlib.h>

#include "fit/run_data.h"
#include "picture/chart.h"
#include "picture/pictures.h"
#include "picture/scene.h"

#define POINTS 200

struct gained {
    const struct cw_scene *scene;
    struct cw_plot plot;
    double from_m, to_m, s_m[POINTS];
    double *time_s; /* scene->n rows of POINTS: of each run since from_m; NaN unless it goes all
                     * the way */
    double reference_s[POINTS], reference_variance[POINTS];
    /* Of each setup: gained on the reference, and its standard error (NaN with a single run). */
    double *gained_s, *error_s;
    size_t *runs; /* of each setup, that go all the way */
};

/* Riders are never held against each other. */
static bool is_rival(const struct gained *g, size_t setup) {
    return g->scene->setups[setup].rider == g->scene->setups[0].rider;
}

static void time_runs(struct gained *g) {
    for (size_t i = 0; i < g->scene->n; i++) {
        const struct cw_run_data *data = g->scene->runs[i].data;
        double *row = g->time_s + i * POINTS, start = cw_scene_time_at(data, g->from_m);
        bool whole = cw_scene_on_road(g->scene, data) && is_rival(g, g->scene->runs[i].setup) &&
                     !isnan(start + cw_scene_time_at(data, g->to_m));
        for (size_t k = 0; k < POINTS; k++)
            row[k] = whole ? cw_scene_time_at(data, g->s_m[k]) - start : NAN;
        g->runs[g->scene->runs[i].setup] += whole;
    }
}

/* Mean of a setup's runs at a place, and the variance of that mean; NaN below two runs. */
static double mean_at(const struct gained *g, size_t setup, size_t k, double *variance) {
    double sum = 0, squares = 0, n = (double)g->runs[setup];
    for (size_t i = 0; i < g->scene->n; i++) {
        double t = g->time_s[i * POINTS + k];
        if (g->scene->runs[i].setup == setup && !isnan(t)) sum += t;
    }
    double mean = n > 0 ? sum / n : NAN;
    for (size_t i = 0; i < g->scene->n; i++) {
        double t = g->time_s[i * POINTS + k];
        if (g->scene->runs[i].setup == setup && !isnan(t)) squares += (t - mean) * (t - mean);
    }
    *variance = n > 1 ? squares / (n - 1) / n : NAN;
    return mean;
}

static void compare(struct gained *g) {
    for (size_t s = 0; s < g->scene->n_setups; s++)
        for (size_t k = 0; k < POINTS; k++) {
            double variance, mean = mean_at(g, s, k, &variance);
            if (s == 0) {
                g->reference_s[k] = mean;
                g->reference_variance[k] = variance;
            }
            g->gained_s[s * POINTS + k] = g->reference_s[k] - mean;
            g->error_s[s * POINTS + k] = sqrt(variance + g->reference_variance[k]);
        }
}

static void lay_out(struct gained *g, struct cw_chart *chart) {
    double low = 0, high = 0;
    for (size_t i = 0; !g->scene->many_on_road && i < g->scene->n; i++)
        for (size_t k = 0; k < POINTS; k++)
            cw_range_add(&low, &high, g->reference_s[k] - g->time_s[i * POINTS + k]);
    for (size_t i = POINTS; i < g->scene->n_setups * POINTS; i++) {
        cw_range_add(&low, &high, g->gained_s[i]);
        cw_range_add(&low, &high, g->gained_s[i] - g->error_s[i]);
        cw_range_add(&low, &high, g->gained_s[i] + g->error_s[i]);
    }
    double top = chart->y + CW_CHART_ROW + 11;
    g->plot = (struct cw_plot){.x = cw_chart_axis(chart, "m", g->from_m, g->to_m, CW_CHART_LEFT,
                                                  CW_CHART_RIGHT - 4, 5, false),
                               .y = cw_axis_make(low, high, top + 230, top, 6, true),
                               .x_means = "distance along the road, m",
                               .y_means = "gained (+) or lost, s"};
}

static void end_text(const struct gained *g, size_t s, struct cw_text *text) {
    double value = g->gained_s[s * POINTS + POINTS - 1];
    double error = g->error_s[s * POINTS + POINTS - 1];
    cw_figure_add(text, fabs(value), 2, false);
    if (!isnan(error)) {
        cw_text_add(text, " \xc2\xb1 ");
        cw_figure_add(text, error, 2, false);
    }
    cw_text_add(text, " s %s", value < 0 ? "lost" : "gained");
}

static void draw_key(const struct gained *g, struct cw_chart *chart) {
    const struct cw_scene *scene = g->scene;
    for (size_t s = 0; s < scene->n_setups; s++) {
        struct cw_key key = {0};
        struct cw_text text = {0}, tail = {0};
        if (!is_rival(g, s)) continue;
        if (s == 0)
            cw_text_add(&tail, ": the reference");
        else if (!g->runs[s])
            cw_text_add(&tail, ": no run goes all the way");
        double room =
            CW_CHART_WIDTH - 24 - 36 - (tail.bytes ? cw_label_width(tail.bytes, CW_CHART_FONT) : 0);
        cw_label_shorten(&text, scene->setups[s].name, room, CW_CHART_FONT);
        if (tail.bytes) cw_text_add(&text, "%s", tail.bytes);
        if (text.bytes) cw_key_add(&key, chart, scene->setups[s].style, true, text.bytes);
        cw_key_end(&key, chart);
        chart->fails |= text.failed || tail.failed;
        cw_text_free(&text);
        cw_text_free(&tail);
    }
}

static void draw(const struct gained *g, struct cw_chart *chart) {
    const struct cw_scene *scene = g->scene;
    double low[POINTS], high[POINTS];
    cw_chart_line(chart, scene->setups[0].style, "bold", g->plot.x.from, cw_axis_at(&g->plot.y, 0),
                  g->plot.x.to, cw_axis_at(&g->plot.y, 0));
    for (size_t s = 1; s < scene->n_setups; s++) {
        for (size_t k = 0; k < POINTS; k++) {
            low[k] = g->gained_s[s * POINTS + k] - g->error_s[s * POINTS + k];
            high[k] = g->gained_s[s * POINTS + k] + g->error_s[s * POINTS + k];
        }
        cw_plot_band(chart, &g->plot, scene->setups[s].style, "", POINTS, g->s_m, low, high);
    }
    for (size_t i = 0; !scene->many_on_road && i < scene->n; i++) {
        const struct cw_scene_setup *setup = &scene->setups[scene->runs[i].setup];
        for (size_t k = 0; k < POINTS; k++) low[k] = g->reference_s[k] - g->time_s[i * POINTS + k];
        if (isnan(low[0])) continue;
        struct cw_text value = {0};
        cw_scene_name_run(scene, &scene->runs[i], &value);
        cw_figure_add(&value, low[POINTS - 1], 2, true);
        cw_text_add(&value, " s at the end");
        cw_scene_open_run(scene, chart, scene->runs[i].run->number, setup->name);
        cw_plot_line(chart, &g->plot, setup->style, "thin", POINTS, g->s_m, low);
        cw_chart_mark(chart, setup->style, g->plot.x.to, cw_axis_at(&g->plot.y, low[POINTS - 1]),
                      2.5, value.bytes);
        cw_scene_close_run(chart);
        chart->fails |= value.failed;
        cw_text_free(&value);
    }
    for (size_t s = 1; s < scene->n_setups; s++) {
        const double *gained_s = g->gained_s + s * POINTS;
        cw_plot_line(chart, &g->plot, scene->setups[s].style, "bold", POINTS, g->s_m, gained_s);
        cw_chart_mark(chart, scene->setups[s].style, g->plot.x.to,
                      cw_axis_at(&g->plot.y, gained_s[POINTS - 1]), 5, scene->setups[s].name);
    }
}

static void describe(const struct gained *g, struct cw_text *text) {
    cw_text_add(text, "Mean time gained by the clock on %s, the reference, from ",
                g->scene->setups[0].name);
    cw_figure_add(text, g->from_m, 0, false);
    cw_text_add(text, " to ");
    cw_figure_add(text, g->to_m, 0, false);
    cw_text_add(text, " m along the road (\xc2\xb1 is one standard error)");
    for (size_t s = 1; s < g->scene->n_setups; s++) {
        if (!g->runs[s]) continue;
        cw_text_add(text, "; %s: ", g->scene->setups[s].name);
        end_text(g, s, text);
    }
    cw_text_add(text, ".");
}

enum cw_status cw_picture_gained(const struct cw_scene *scene, struct cw_chart *chart,
                                 struct cw_text *description, struct cw_error *error) {
    struct gained g = {.scene = scene};
    enum cw_status status = cw_scene_stretch(scene, &g.from_m, &g.to_m, error);
    if (status < 0) return status;
    for (size_t k = 0; k < POINTS; k++)
        g.s_m[k] =
            k == POINTS - 1 ? g.to_m : g.from_m + (g.to_m - g.from_m) * (double)k / (POINTS - 1);
    g.time_s = malloc((scene->n + 2 * scene->n_setups) * POINTS * sizeof *g.time_s);
    g.runs = calloc(scene->n_setups, sizeof *g.runs);
    if (!g.time_s || !g.runs) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    g.gained_s = g.time_s + scene->n * POINTS;
    g.error_s = g.gained_s + scene->n_setups * POINTS;
    time_runs(&g);
    size_t others = 0;
    for (size_t s = 1; s < scene->n_setups; s++) others += g.runs[s] > 0;
    if (!g.runs[0] || !others) {
        status = cw_error_set(error, CW_E_DATA, scene->of->outing.file, 0,
                              "no two setups have runs over the stretch that the runs share");
        goto cleanup;
    }
    compare(&g);
    draw_key(&g, chart);
    lay_out(&g, chart);
    cw_plot_open(chart, &g.plot, true, true);
    draw(&g, chart);
    cw_plot_close(chart, &g.plot, true);
    cw_chart_note(chart,
                  "By the clock, from the first gate on, each run as it was ridden: the answer's "
                  "seconds are from one entry speed in still air. Bands: one standard "
                  "error of the difference of the means.");
    cw_chart_note(chart, scene->many_on_road
                             ? "Too many runs to draw each."
                             : "Thin lines: every run. Where a line climbs, time is "
                               "being gained.");
    cw_scene_note_elsewhere(scene, chart);
    describe(&g, description);
cleanup:
    free(g.time_s);
    free(g.runs);
    return status;
}
