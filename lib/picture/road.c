/* Virtual elevation of each run over the road's profile, and how far it is off under it. */
#include <math.h>
#include <stdlib.h>

#include "fit/profile.h"
#include "fit/workings.h"
#include "picture/chart.h"
#include "picture/pictures.h"
#include "picture/scene.h"
#include "picture/virtual_elevation.h"
#include "report/run_facts.h"

#define PROFILE_POINTS 200
#define RANGE_POINTS 120
#define TURNED_NAMED 6
#define LINES_AVOIDED 14 /* runs that the label keeps off */

struct road {
    const struct cw_scene *scene;
    struct cw_plot over, under;
    double from_m, to_m;
    struct cw_virtual *lines;  /* a run of the scene each; n is 0 for those on other roads */
    struct cw_virtual *turned; /* a run found each; n is 0 for those not drawn */
    size_t n_drawn, n_turned;
    size_t worst, worst_at; /* the run and its point that are farthest off */
};

static void road_free(struct road *r) {
    for (size_t i = 0; r->lines && i < r->scene->n; i++) cw_virtual_free(&r->lines[i]);
    for (size_t i = 0; r->turned && i < r->scene->of->runs.n; i++) cw_virtual_free(&r->turned[i]);
    free(r->lines);
    free(r->turned);
}

static enum cw_status sum_up(struct road *r, struct cw_error *error) {
    const struct cw_scene *scene = r->scene;
    const struct cw_runs *runs = &scene->of->runs;
    double most = -1;
    r->lines = calloc(scene->n, sizeof *r->lines);
    r->turned = calloc(runs->n, sizeof *r->turned);
    if (!r->lines || !r->turned) return cw_error_memory(error);
    for (size_t i = 0; i < scene->n; i++) {
        struct cw_virtual *line = &r->lines[i];
        if (!cw_scene_on_road(scene, scene->runs[i].data)) continue;
        enum cw_status status = cw_virtual_of_run(scene, &scene->runs[i], line, error);
        if (status < 0) return status;
        r->n_drawn++;
        for (size_t k = 0; k < line->n; k++) {
            if (!(fabs(line->residual_m[k]) > most)) continue;
            most = fabs(line->residual_m[k]);
            r->worst = i;
            r->worst_at = k;
        }
    }
    for (size_t i = 0; i < runs->n && r->n_turned < CW_SCENE_RUNS_MOST; i++) {
        if (runs->at[i].kept) continue;
        enum cw_status status =
            cw_virtual_of_turned_down(scene, &runs->at[i], &r->turned[i], error);
        if (status < 0) return status;
        r->n_turned += r->turned[i].n > 0;
    }
    if (!r->n_drawn || most < 0)
        return cw_error_set(error, CW_E_DATA, scene->of->outing.file, 0,
                            "no run on the road has a virtual elevation to draw");
    return CW_OK;
}

static void lay_out(struct road *r, struct cw_chart *chart) {
    const struct cw_profile *profile = &r->scene->of->fit.workings->joint.profile[r->scene->road];
    double low = INFINITY, high = -INFINITY, off = 0.05;
    cw_scene_reach(r->scene, &r->from_m, &r->to_m);
    for (size_t i = 0; i < r->scene->n; i++)
        for (size_t k = 0; k < r->lines[i].n; k++) {
            cw_range_add(&low, &high, r->lines[i].height_m[k]);
            double size = fabs(r->lines[i].residual_m[k]);
            if (size > off) off = size;
        }
    for (int k = 0; k <= PROFILE_POINTS; k++)
        cw_range_add(
            &low, &high,
            cw_profile_height(profile, r->from_m + (r->to_m - r->from_m) * k / PROFILE_POINTS));
    double top = chart->y + CW_CHART_ROW + 11;
    struct cw_axis x = cw_chart_axis(chart, "m", r->from_m, r->to_m, CW_CHART_LEFT,
                                     CW_CHART_RIGHT - cw_scene_numbers_width(r->scene), 5, false);
    r->over = (struct cw_plot){.x = x,
                               .y = cw_chart_axis(chart, "m", low, high, top + 170, top, 5, true),
                               .x_means = "distance along the road, m",
                               .y_means = "height, m"};
    top += 170 + 17 + CW_CHART_ROW;
    double room = fmax(160, cw_scene_numbers_height(r->scene));
    r->under = (struct cw_plot){
        .x = x,
        .y = cw_chart_axis(chart, "m", -1.2 * off, 1.2 * off, top + room, top, 5, true),
        .x_means = r->over.x_means,
        .y_means = "off the road's profile, m"};
}

static void draw_profile(const struct road *r, struct cw_chart *chart) {
    double s[PROFILE_POINTS + 1], h[PROFILE_POINTS + 1];
    for (int k = 0; k <= PROFILE_POINTS; k++) {
        s[k] = r->from_m + (r->to_m - r->from_m) * k / PROFILE_POINTS;
        h[k] = cw_profile_height(&r->scene->of->fit.workings->joint.profile[r->scene->road], s[k]);
    }
    cw_plot_line(chart, &r->over, 0, "road plain", PROFILE_POINTS + 1, s, h);
}

static void draw_runs(const struct road *r, struct cw_chart *chart, bool under) {
    const struct cw_scene *scene = r->scene;
    const struct cw_plot *plot = under ? &r->under : &r->over;
    for (size_t i = 0; i < scene->n; i++) {
        const struct cw_virtual *line = &r->lines[i];
        const struct cw_scene_setup *setup = &scene->setups[scene->runs[i].setup];
        if (!line->n || (scene->many_on_road && i != r->worst)) continue;
        cw_scene_open_run(scene, chart, scene->runs[i].run->number, setup->name);
        cw_plot_line(chart, plot, setup->style, i == r->worst && under ? "bold" : "", line->n,
                     line->s_m, under ? line->residual_m : line->height_m);
        cw_scene_close_run(chart);
    }
}

/* Under the road: marks and numbers where the runs end, and what they are off there. */
static void draw_ends(const struct road *r, struct cw_chart *chart) {
    const struct cw_scene *scene = r->scene;
    double x[CW_SCENE_NUMBERED_MOST], y[CW_SCENE_NUMBERED_MOST];
    for (size_t i = 0; i < scene->n; i++) {
        const struct cw_virtual *line = &r->lines[i];
        const struct cw_scene_run *run = &scene->runs[i];
        const struct cw_scene_setup *setup = &scene->setups[run->setup];
        struct cw_text value = {0};
        double end_m = line->n ? line->s_m[line->n - 1] : NAN;
        double off_m = line->n ? line->residual_m[line->n - 1] : NAN;
        if (i < CW_SCENE_NUMBERED_MOST) {
            x[i] = end_m;
            y[i] = off_m;
        }
        if (!isfinite(end_m + off_m)) continue;
        cw_scene_name_run(scene, run, &value);
        cw_figure_add(&value, off_m, 2, true);
        cw_text_add(&value, " m off the road's profile at its end");
        cw_scene_open_run(scene, chart, run->run->number, setup->name);
        cw_chart_mark(chart, setup->style, cw_axis_at(&r->under.x, end_m),
                      cw_axis_at(&r->under.y, off_m), 4, value.bytes);
        cw_scene_close_run(chart);
        chart->fails |= value.failed;
        cw_text_free(&value);
    }
    cw_scene_number_ends(scene, chart, &r->under, x, y);
}

static void draw_turned(const struct road *r, struct cw_chart *chart, bool under,
                        struct cw_labels *labels) {
    const struct cw_scene *scene = r->scene;
    const struct cw_plot *plot = under ? &r->under : &r->over;
    struct cw_box box = cw_plot_box(plot);
    for (size_t i = 0; i < scene->of->runs.n; i++) {
        const struct cw_virtual *line = &r->turned[i];
        struct cw_text number = {0};
        if (!line->n) continue;
        cw_text_add(&number, "%ld", scene->of->runs.at[i].number);
        cw_scene_open_run(scene, chart, scene->of->runs.at[i].number, NULL);
        cw_plot_line(chart, plot, CW_STYLE_NONE, "", line->n, line->s_m,
                     under ? line->residual_m : line->height_m);
        /* Its number where it ends, or where it leaves the plot. */
        double x = NAN, y = NAN;
        for (size_t k = 0; k < line->n; k++) {
            double px = cw_axis_at(&plot->x, line->s_m[k]);
            double py = cw_axis_at(&plot->y, under ? line->residual_m[k] : line->height_m[k]);
            if (px < box.left || px > box.right || py < box.top || py > box.bottom) {
                if (!isnan(x)) break;
                continue;
            }
            x = px;
            y = py;
        }
        struct cw_box at;
        if (number.bytes && !isnan(x) &&
            cw_labels_place(labels, x, y, cw_label_width(number.bytes, CW_CHART_FONT), 17, 3, &at))
            cw_chart_text(chart, at.left, at.bottom - 4, 's', "mute halo", number.bytes);
        cw_scene_close_run(chart);
        chart->fails |= number.failed;
        cw_text_free(&number);
    }
}

static double residual_at(const struct cw_virtual *line, double s_m) {
    if (!line->n || s_m < line->s_m[0] || s_m > line->s_m[line->n - 1]) return NAN;
    size_t low = 0, high = line->n - 1;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (line->s_m[middle] <= s_m)
            low = middle;
        else
            high = middle;
    }
    double step = line->s_m[high] - line->s_m[low];
    double share = step > 0 ? (s_m - line->s_m[low]) / step : 0;
    return line->residual_m[low] + share * (line->residual_m[high] - line->residual_m[low]);
}

/* Of each setup, the range of its runs and their mean. */
static void draw_ranges(const struct road *r, struct cw_chart *chart) {
    const struct cw_scene *scene = r->scene;
    double s[RANGE_POINTS], low[RANGE_POINTS], high[RANGE_POINTS], mean[RANGE_POINTS];
    for (size_t setup = 0; setup < scene->n_setups; setup++) {
        size_t all = 0;
        for (size_t i = 0; i < scene->n; i++)
            all += scene->runs[i].setup == setup && r->lines[i].n > 0;
        for (int k = 0; k < RANGE_POINTS; k++) {
            size_t n = 0;
            s[k] = r->from_m + (r->to_m - r->from_m) * k / (RANGE_POINTS - 1);
            low[k] = INFINITY;
            high[k] = -INFINITY;
            mean[k] = 0;
            for (size_t i = 0; i < scene->n; i++) {
                double off = scene->runs[i].setup == setup ? residual_at(&r->lines[i], s[k]) : NAN;
                if (isnan(off)) continue;
                cw_range_add(&low[k], &high[k], off);
                mean[k] += off;
                n++;
            }
            mean[k] = 2 * n >= all && n ? mean[k] / (double)n : NAN;
            if (isnan(mean[k])) low[k] = high[k] = NAN; /* the last few would jump about */
        }
        size_t style = scene->setups[setup].style;
        cw_plot_band(chart, &r->under, style, "", RANGE_POINTS, s, low, high);
        cw_plot_line(chart, &r->under, style, "", RANGE_POINTS, s, mean);
    }
}

static void worst_text(const struct road *r, struct cw_text *text) {
    const struct cw_virtual *line = &r->lines[r->worst];
    cw_text_add(text, "run %ld: ", r->scene->runs[r->worst].run->number);
    cw_figure_add(text, line->residual_m[r->worst_at], 2, true);
    cw_text_add(text, " m at ");
    cw_figure_add(text, line->s_m[r->worst_at], 0, false);
    cw_text_add(text, " m");
}

static void keep_off_lines(const struct road *r, struct cw_labels *labels, size_t run,
                           size_t points) {
    const struct cw_virtual *line = &r->lines[run];
    for (size_t k = 0; k < line->n; k += 1 + line->n / points) {
        double x = cw_axis_at(&r->under.x, line->s_m[k]);
        double y = cw_axis_at(&r->under.y, line->residual_m[k]);
        cw_labels_take(labels, &(struct cw_box){x - 4, y - 1, x + 4, y + 1});
    }
}

/* Where the worst run is farthest off, and by how much. */
static void label_worst(const struct road *r, struct cw_chart *chart, struct cw_labels *labels) {
    const struct cw_virtual *line = &r->lines[r->worst];
    const struct cw_scene_run *run = &r->scene->runs[r->worst];
    const struct cw_scene_setup *setup = &r->scene->setups[run->setup];
    struct cw_text text = {0};
    struct cw_box at;
    double x = cw_axis_at(&r->under.x, line->s_m[r->worst_at]);
    double y = cw_axis_at(&r->under.y, line->residual_m[r->worst_at]);
    keep_off_lines(r, labels, r->worst, 40);
    size_t own = labels->n;
    if (r->scene->n_on_road <= LINES_AVOIDED)
        for (size_t i = 0; i < r->scene->n; i++)
            if (i != r->worst) keep_off_lines(r, labels, i, 20);
    worst_text(r, &text);
    cw_chart_say(chart, &text);
    cw_scene_open_run(r->scene, chart, run->run->number, setup->name);
    cw_chart_mark(chart, setup->style, x, y, 5, text.bytes);
    double width = text.bytes ? cw_label_width(text.bytes, CW_CHART_FONT) : 0;
    bool placed = cw_labels_place(labels, x, y, width, 17, 5, &at);
    if (!placed) { /* then over the other lines */
        labels->n = own;
        placed = cw_labels_place(labels, x, y, width, 17, 5, &at);
    }
    if (placed && text.bytes) cw_chart_text(chart, at.left, at.bottom - 5, 's', "halo", text.bytes);
    cw_scene_close_run(chart);
    chart->fails |= text.failed;
    cw_text_free(&text);
}

static void add_turned_note(const struct road *r, struct cw_text *text) {
    const struct cw_runs *runs = &r->scene->of->runs;
    size_t named = 0;
    if (!r->n_turned) return;
    cw_text_add(text, "Turned down (grey, dashed):");
    for (size_t i = 0; i < runs->n; i++) {
        if (!r->turned[i].n) continue;
        if (named == TURNED_NAMED) {
            cw_text_add(text, "; and %zu more", r->n_turned - named);
            break;
        }
        cw_text_add(text, "%s run %ld, ", named++ ? ";" : "", runs->at[i].number);
        cw_reasons_add(text, runs->at[i].reasons, ", ");
    }
    cw_text_add(text, ".");
}

static void describe(const struct road *r, const struct cw_text *turned, struct cw_text *text) {
    cw_text_add(text,
                "Height that the energy of %zu runs accounts for, over the road's profile, and "
                "the difference between the two. Farthest off is ",
                r->n_drawn);
    worst_text(r, text);
    cw_text_add(text, ".");
    if (turned->bytes) cw_text_add(text, " %s", turned->bytes);
}

enum cw_status cw_picture_road(const struct cw_scene *scene, struct cw_chart *chart,
                               struct cw_text *description, struct cw_error *error) {
    struct road r = {.scene = scene};
    struct cw_text turned = {0};
    enum cw_status status = sum_up(&r, error);
    if (status < 0) goto cleanup;
    cw_scene_key(scene, chart, true);
    lay_out(&r, chart);
    struct cw_labels over = {.within = cw_plot_box(&r.over)},
                     under = {.within = cw_plot_box(&r.under)};
    cw_plot_open(chart, &r.over, false, true);
    draw_profile(&r, chart);
    draw_turned(&r, chart, false, &over);
    draw_runs(&r, chart, false);
    cw_plot_close(chart, &r.over, false);
    cw_plot_open(chart, &r.under, true, true);
    cw_chart_line(chart, 0, "rule", r.under.x.from, cw_axis_at(&r.under.y, 0), r.under.x.to,
                  cw_axis_at(&r.under.y, 0));
    draw_turned(&r, chart, true, &under);
    if (scene->many_on_road) draw_ranges(&r, chart);
    draw_runs(&r, chart, true);
    if (!scene->many_on_road) draw_ends(&r, chart);
    label_worst(&r, chart, &under);
    cw_plot_close(chart, &r.under, true);
    cw_chart_note(chart, "Wide line: the road. Off it upwards: more height lost than the setup's "
                         "mean CdA explains, as to a headwind or a brake; downwards: less.");
    if (scene->many_on_road)
        cw_chart_note(chart, "Too many runs to draw each: bands span each setup's runs, lines are "
                             "their means; the run that is farthest off is drawn.");
    add_turned_note(&r, &turned);
    if (turned.bytes) cw_chart_note(chart, turned.bytes);
    cw_scene_note_outliers(scene, chart);
    cw_scene_note_elsewhere(scene, chart);
    describe(&r, &turned, description);
    chart->fails |= turned.failed;
cleanup:
    cw_text_free(&turned);
    road_free(&r);
    return status;
}
