/* Crr of the sets of tyres over the pressures that they were noted to have. */
#include <math.h>

#include "picture/chart.h"
#include "picture/pictures.h"
#include "picture/scene.h"
#include "report/estimates.h"

static const double height = 210;

struct tyres {
    const struct cw_scene *scene;
    struct cw_plot plot;
};

static double pressure_of(const struct cw_scene *scene, size_t tyres) {
    return cw_outing_pressure_kpa(&scene->of->outing, scene->of->fit.tyres[tyres]);
}

static bool is_shown(const struct cw_scene *scene, size_t tyres) {
    const struct cw_fit *fit = &scene->of->fit;
    return fit->crr_identifiable[tyres] && isfinite(pressure_of(scene, tyres));
}

size_t cw_scene_pumped(const struct cw_scene *scene) {
    size_t n = 0;
    for (size_t t = 0; t < scene->of->fit.n_tyres; t++) n += is_shown(scene, t);
    return n;
}

static void lay_out(struct tyres *w, struct cw_chart *chart) {
    const struct cw_fit *fit = &w->scene->of->fit;
    double low = INFINITY, high = -INFINITY, least = INFINITY, most = -INFINITY;
    for (size_t t = 0; t < fit->n_tyres; t++) {
        if (!is_shown(w->scene, t)) continue;
        cw_range_add(&low, &high, fit->crr[t].low);
        cw_range_add(&low, &high, fit->crr[t].high);
        cw_range_add(&least, &most, pressure_of(w->scene, t));
    }
    double spare = 0.08 * (most - least), top = chart->y + CW_CHART_ROW + 11;
    w->plot.x = cw_axis_make(least - spare, most + spare, CW_CHART_LEFT, CW_CHART_RIGHT, 5, true);
    w->plot.y = cw_axis_make(low, high, top + height, top, 5, true);
    w->plot.x_means = "pressure as noted, kPa";
    w->plot.y_means = "Crr";
}

/* The mark with its intervals; the name stands beside it, where there is more room. */
static void draw_one(const struct tyres *w, struct cw_chart *chart, size_t tyres) {
    const struct cw_fit *fit = &w->scene->of->fit;
    const struct cw_estimate all = fit->crr[tyres], noise = cw_estimate_of_noise(all);
    const struct cw_axis *y = &w->plot.y;
    double kpa = pressure_of(w->scene, tyres), x = cw_axis_at(&w->plot.x, kpa);
    bool to_left = x > 0.5 * (w->plot.x.from + w->plot.x.to);
    struct cw_text value = {0}, name = {0};
    cw_text_add(&value, "%s at %.0f kPa: Crr ", fit->tyres[tyres], kpa);
    cw_scene_add_estimate(&value, &all, "", false);
    cw_label_shorten(&name, fit->tyres[tyres],
                     to_left ? x - w->plot.x.from - 12 : w->plot.x.to - x - 12, CW_CHART_FONT);
    cw_chart_line(chart, tyres, "", x, cw_axis_at(y, all.low), x, cw_axis_at(y, all.high));
    cw_chart_line(chart, tyres, "noise", x, cw_axis_at(y, noise.low), x, cw_axis_at(y, noise.high));
    cw_chart_mark(chart, tyres, x, cw_axis_at(y, all.value), 5, value.bytes);
    if (name.bytes)
        cw_chart_text(chart, to_left ? x - 9 : x + 9, cw_axis_at(y, all.value) + 5,
                      to_left ? 'e' : 's', "halo", name.bytes);
    chart->fails |= value.failed || name.failed;
    cw_text_free(&value);
    cw_text_free(&name);
}

static void describe(const struct cw_scene *scene, struct cw_text *text) {
    const struct cw_fit *fit = &scene->of->fit;
    size_t said = 0;
    cw_text_add(text, "Rolling coefficient Crr over pressure");
    for (size_t t = 0; t < fit->n_tyres; t++) {
        if (!is_shown(scene, t)) continue;
        cw_text_add(text, "%s %s at %.0f kPa ", said++ ? ";" : ".", fit->tyres[t],
                    pressure_of(scene, t));
        cw_scene_add_estimate(text, &fit->crr[t], "", false);
    }
    cw_text_add(text, ". Brackets are 95 %% intervals, everything counted.");
}

enum cw_status cw_picture_pressures(const struct cw_scene *scene, struct cw_chart *chart,
                                    struct cw_text *description, struct cw_error *error) {
    struct tyres w = {.scene = scene};
    (void)error;
    lay_out(&w, chart);
    cw_plot_open(chart, &w.plot, true, true);
    for (size_t t = 0; t < scene->of->fit.n_tyres; t++)
        if (is_shown(scene, t)) draw_one(&w, chart, t);
    cw_plot_close(chart, &w.plot, true);
    cw_chart_note(
        chart, "Thick lines: 95\xc2\xa0% intervals by noise alone. Thin: with mass, air, wind and "
               "heights too. Most of both the sets of tyres share: their differences are better "
               "known than each. Tyres that differ in more than pressure differ for that too.");
    describe(scene, description);
    return CW_OK;
}
