/* Drag and rolling of setups on different tyres: where in the plane of both differences the truth
 * may lie, an oval whose shadows on the edges are the two intervals. All figures are the
 * comparison's, as in the tables. */
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "picture/chart.h"
#include "picture/pictures.h"
#include "picture/scene.h"
#include "report/estimates.h"
#include "report/rolling.h"

enum { OVALS_MOST = 3, ROUND = 121 };

struct oval {
    const struct cw_comparison *of;
    const char *setup, *reference;
    size_t style;
    double x[ROUND], y[ROUND]; /* percent of drag, Crr */
};

struct layout {
    const struct cw_scene *scene;
    struct cw_plot plot;
    size_t n;
    struct oval oval[OVALS_MOST];
    double line_percent[2],
        line_crr[2]; /* where the first's force at the sum's speed is the same; NaN */
};

static size_t style_of(const struct cw_scene *scene, const char *name) {
    for (size_t s = 0; s < scene->n_setups; s++)
        if (!strcmp(scene->setups[s].name, name)) return scene->setups[s].style;
    return CW_STYLE_NONE;
}

/* Round the middle of the intervals, through their ends: the oval of two quantities that err
 * together whose shadows on both axes, and on any line across them, are their intervals. CdA is
 * compared by its logarithm, so the oval is one of that. */
static void go_round(struct oval *oval) {
    const struct cw_estimate *percent = &oval->of->percent, *crr = &oval->of->rolling.crr;
    double low = log1p(percent->low / 100), high = log1p(percent->high / 100),
           r = oval->of->rolling.correlation;
    for (size_t i = 0; i < ROUND; i++) {
        double t = 2 * 3.14159265358979323846 * (double)i / (ROUND - 1);
        double across = cos(t), up = r * cos(t) + sqrt(fmax(0, 1 - r * r)) * sin(t);
        oval->x[i] = 100 * expm1(0.5 * (low + high) + 0.5 * (high - low) * across);
        oval->y[i] = 0.5 * (crr->low + crr->high) + 0.5 * (crr->high - crr->low) * up;
    }
}

/* The first comparison of both, and others with the same reference. */
static void gather(struct layout *l) {
    const struct cw_compare *compare = &l->scene->analysis->compare;
    for (size_t i = 0; i < compare->n_comparisons && l->n < OVALS_MOST; i++) {
        const struct cw_comparison *c = &compare->comparisons[i];
        if (!c->rolling.compared || c->drag_said) continue;
        if (l->n && c->reference != l->oval[0].of->reference) continue;
        struct oval *oval = &l->oval[l->n++];
        oval->of = c;
        oval->setup = compare->setups[c->setup].name;
        oval->reference = compare->setups[c->reference].name;
        oval->style = style_of(l->scene, oval->setup);
        go_round(oval);
    }
}

/* The force goes with drag and Crr in a straight line: by that of the drag alone at two speeds. */
static void find_line(struct layout *l, enum cw_units units) {
    const struct cw_comparison *c = l->oval[0].of;
    const struct cw_force *force = cw_forces_read(c, units);
    const struct cw_force *sum = &force[1], *faster = &force[CW_FORCES - 1];
    double apart = pow(faster->speed_kmh / sum->speed_kmh, 2) - 1;
    double drag_n = (faster->force_n.value - sum->force_n.value) / apart; /* at the sum's speed */
    double rolls_n = sum->force_n.value - drag_n;
    double by_crr = l->scene->of->fit.runs[0].mass_kg * l->scene->of->fit.place.gravity_ms2;
    double cda = c->difference_m2.value / (c->percent.value / 100); /* the reference's */
    double v = sum->speed_kmh / 3.6;
    double by_percent = 0.5 * l->scene->of->fit.place.density_kgm3 * v * v * cda / 100;
    /* What a difference in load costs is no tyre's. */
    double load_n = rolls_n - by_crr * c->rolling.crr.value;
    l->line_crr[0] = l->plot.y.low;
    l->line_crr[1] = l->plot.y.high;
    for (int k = 0; k < 2; k++)
        l->line_percent[k] = -(by_crr * l->line_crr[k] + load_n) / by_percent;
}

static void lay_out(struct layout *l, struct cw_chart *chart) {
    static const double height = 330, left = 74;
    double low[2] = {0, 0}, high[2] = {0, 0};
    for (size_t k = 0; k < l->n; k++)
        for (size_t i = 0; i < ROUND; i++) {
            cw_range_add(&low[0], &high[0], l->oval[k].x[i]);
            cw_range_add(&low[1], &high[1], l->oval[k].y[i]);
        }
    double room[2] = {0.12 * (high[0] - low[0]), 0.12 * (high[1] - low[1])};
    for (int k = 0; k < 2;
         k++) { /* what costs less and what costs more has a place on either side */
        double span = high[k] - low[k];
        low[k] = fmin(low[k], -0.2 * span);
        high[k] = fmax(high[k], 0.2 * span);
    }
    chart->y += CW_CHART_ROW + 8;
    l->plot = (struct cw_plot){
        .x = cw_axis_make(low[0] - room[0], high[0] + room[0], left, CW_CHART_RIGHT, 6, false),
        .y = cw_axis_make(low[1] - room[1], high[1] + room[1], chart->y + height, chart->y, 6,
                          false),
        .x_means = "difference in drag, % (+ is more)",
        .y_means = "difference in Crr (+ rolls worse)"};
}

/* The shadows on the edges: bars, and faint lines to where the oval ends. */
static void draw_shadows(const struct layout *l, struct cw_chart *chart, size_t k) {
    const struct oval *oval = &l->oval[k];
    const struct cw_estimate *percent = &oval->of->percent, *crr = &oval->of->rolling.crr;
    const struct cw_axis *x = &l->plot.x, *y = &l->plot.y;
    double bottom = y->from - 6 - 8 * (double)k, side = x->from + 6 + 8 * (double)k;
    double from = cw_axis_at(x, percent->low), to = cw_axis_at(x, percent->high),
           lower = cw_axis_at(y, crr->low), upper = cw_axis_at(y, crr->high);
    for (size_t i = 0; i < ROUND && l->n == 1; i++) {
        double px = cw_axis_at(x, oval->x[i]), py = cw_axis_at(y, oval->y[i]);
        if (fabs(px - from) < 0.05 || fabs(px - to) < 0.05)
            cw_chart_line(chart, oval->style, "thin", px, py, px, bottom);
        if (fabs(py - lower) < 0.05 || fabs(py - upper) < 0.05)
            cw_chart_line(chart, oval->style, "thin", px, py, side, py);
    }
    cw_chart_line(chart, oval->style, "noise plain", from, bottom, to, bottom);
    cw_chart_line(chart, oval->style, "noise plain", side, lower, side, upper);
}

static void add_values(const struct oval *oval, struct cw_text *text) {
    cw_text_add(text, "%s against %s: drag ", oval->setup, oval->reference);
    cw_scene_add_estimate(text, &oval->of->percent, "%", true);
    cw_text_add(text, ", Crr ");
    cw_scene_add_estimate(text, &oval->of->rolling.crr, "", true);
}

static void draw_oval(const struct layout *l, struct cw_chart *chart, size_t k) {
    const struct oval *oval = &l->oval[k];
    enum { HALF = ROUND / 2 + 1 };
    double x[HALF], low[HALF], high[HALF];
    struct cw_text value = {0};
    /* From the right end over the top to the left, and back below. */
    for (size_t i = 0; i < HALF; i++) {
        x[i] = oval->x[i];
        high[i] = fmax(oval->y[i], oval->y[ROUND - 1 - i]);
        low[i] = fmin(oval->y[i], oval->y[ROUND - 1 - i]);
    }
    cw_plot_band(chart, &l->plot, oval->style, "", HALF, x, low, high);
    cw_plot_line(chart, &l->plot, oval->style, "plain", ROUND, oval->x, oval->y);
    draw_shadows(l, chart, k);
    add_values(oval, &value);
    cw_chart_mark(chart, oval->style, cw_axis_at(&l->plot.x, oval->of->percent.value),
                  cw_axis_at(&l->plot.y, oval->of->rolling.crr.value), 6, value.bytes);
    chart->fails |= value.failed;
    cw_text_free(&value);
}

/* Nothing differs; and the line along which one makes up for the other. */
static void draw_lines(const struct layout *l, struct cw_chart *chart) {
    const struct cw_axis *x = &l->plot.x, *y = &l->plot.y;
    double none_x = cw_axis_at(x, 0), none_y = cw_axis_at(y, 0);
    cw_chart_line(chart, 0, "rule", none_x, y->from, none_x, y->to);
    cw_chart_line(chart, 0, "rule", x->from, none_y, x->to, none_y);
    if (isfinite(l->line_percent[0] + l->line_percent[1]))
        cw_plot_line(chart, &l->plot, CW_STYLE_NONE, "bold plain", 2, l->line_percent, l->line_crr);
    cw_chart_text(chart, x->to - 8, y->to + 20, 'e', "strong halo", "costs more");
    cw_chart_text(chart, x->from + 12 + 8 * (double)l->n, y->from - 14 - 8 * (double)l->n, 's',
                  "strong halo", "costs less");
}

static void draw_key(const struct layout *l, struct cw_chart *chart) {
    struct cw_key key = {0};
    for (size_t k = 0; k < l->n; k++) {
        struct cw_text name = {0};
        cw_text_add(&name, "%s against %s", l->oval[k].setup, l->oval[k].reference);
        if (name.bytes) cw_key_add(&key, chart, l->oval[k].style, false, name.bytes);
        chart->fails |= name.failed;
        cw_text_free(&name);
    }
    cw_key_end(&key, chart);
}

static void note(const struct layout *l, struct cw_chart *chart) {
    struct cw_text text = {0};
    cw_text_add(&text,
                "The mark is what the runs say. The oval around it is where the truth may lie; its "
                "shadow on either edge, the bar, is that difference's 95\xc2\xa0%% interval. "
                "A bar that takes in 0 leaves open which way it goes. An oval that slants says "
                "that what is not drag is rolling: their sum is known better than either.");
    cw_chart_note(chart, text.bytes ? text.bytes : "");
    cw_text_free(&text);
    if (isfinite(l->line_percent[0] + l->line_percent[1])) {
        cw_text_add(&text,
                    "On the slanted line less of the one makes up for more of the other at "
                    "%s. An oval that lies all on one side of it costs more, or less, to "
                    "ride, whichever of the two it is.",
                    cw_sum_text(chart->units));
        if (text.bytes) cw_chart_note(chart, text.bytes);
    }
    chart->fails |= text.failed;
    cw_text_free(&text);
}

enum cw_status cw_picture_tyres(const struct cw_scene *scene, struct cw_chart *chart,
                                struct cw_text *description, struct cw_error *error) {
    struct layout l = {.scene = scene};
    (void)error;
    gather(&l);
    draw_key(&l, chart);
    lay_out(&l, chart);
    find_line(&l, chart->units);
    cw_plot_open(chart, &l.plot, true, true);
    draw_lines(&l, chart);
    for (size_t k = 0; k < l.n; k++) draw_oval(&l, chart, k);
    cw_plot_close(chart, &l.plot, true);
    note(&l, chart);
    cw_text_add(description, "Differences in drag and in rolling, with 95 %% intervals");
    for (size_t k = 0; k < l.n; k++) {
        cw_text_add(description, "; ");
        add_values(&l.oval[k], description);
        cw_text_add(description, ", correlation %.2f", l.oval[k].of->rolling.correlation);
    }
    cw_text_add(description, ".");
    return CW_OK;
}
