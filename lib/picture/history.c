/* CdA of setups, and Crr of tyres, along time: a mark an outing with its interval, and all outings
 * together as a band. */
#include <math.h>
#include <string.h>

#include "base/number.h"
#include "base/print.h"
#include "picture/chart.h"
#include "picture/pictures.h"
#include "picture/scene.h"
#include "report/clock.h"
#include "report/estimates.h"

/* What one panel is of. */
struct panel {
    const struct cw_analysis *analysis;
    size_t n;
    const struct cw_history_mark *marks;
    bool rolls; /* tyres, not setups */
    const char *unit;
    struct cw_plot plot;
    char clock[32]; /* what an axis of hours means */
};

static const char *name_of(const struct panel *p, size_t of) {
    return p->rolls ? p->analysis->compare.history.tyres[of].name
                    : p->analysis->compare.setups[of].name;
}

static const struct cw_estimate *of_all(const struct panel *p, size_t of) {
    return p->rolls ? &p->analysis->compare.history.tyres[of].crr
                    : &p->analysis->compare.setups[of].cda_m2;
}

/* How many setups, or tyres, come before that of mark i, and in all. */
static size_t kinds(const struct panel *p, size_t i, size_t *all) {
    size_t before = 0;
    *all = 0;
    for (size_t k = 0; k < p->n; k++) {
        if (k && p->marks[k].of == p->marks[k - 1].of) continue;
        before += k && k <= i;
        ++*all;
    }
    return before;
}

/* By the clock of the place. */
static double clock_s(const struct panel *p, size_t i) {
    const struct cw_history_mark *mark = &p->marks[i];
    return mark->time_s + cw_clock_of(&p->analysis->outings[mark->outing]).offset_s;
}

/* Marks of one outing stand beside each other. */
static double place_of(const struct panel *p, size_t i) {
    static const double apart = 6, most = 30;
    size_t all, at = kinds(p, i, &all);
    double step = all > 1 ? fmin(apart, most / (double)(all - 1)) : 0;
    return cw_axis_at(&p->plot.x, clock_s(p, i)) + step * ((double)at - 0.5 * ((double)all - 1));
}

/* Intervals that would squash the rest are cut. */
static void value_range(const struct panel *p, double *low, double *high) {
    static const double most_part = 0.5;
    *low = INFINITY;
    *high = -INFINITY;
    for (size_t i = 0; i < p->n; i++) {
        const struct cw_estimate *own = &p->marks[i].estimate, *all = of_all(p, p->marks[i].of);
        double most = most_part * fabs(all->value);
        cw_range_add(low, high, own->value);
        cw_range_add(low, high, fmax(own->low, all->value - most));
        cw_range_add(low, high, fmin(own->high, all->value + most));
        cw_range_add(low, high, fmax(all->low, all->value - most));
        cw_range_add(low, high, fmin(all->high, all->value + most));
    }
}

/* From a little before the first outing to a little after the last. */
static void time_range(const struct panel *p, double *from_s, double *to_s) {
    static const double margin = 0.08, least_s = 6 * 3600;
    *from_s = INFINITY;
    *to_s = -INFINITY;
    for (size_t i = 0; i < p->n; i++) cw_range_add(from_s, to_s, clock_s(p, i));
    double more_s = fmax(margin * (*to_s - *from_s), least_s);
    *from_s -= more_s;
    *to_s += more_s;
}

static void name_clock(struct panel *p) {
    const struct cw_analysed *outings = p->analysis->outings;
    const struct cw_clock first = cw_clock_of(&outings[p->marks[0].outing]);
    bool same = true;
    for (size_t i = 1; i < p->n; i++)
        same &= cw_clock_of(&outings[p->marks[i].outing]).offset_s == first.offset_s;
    cw_print(p->clock, sizeof p->clock, "time, %s", same ? first.name : "by each place's clock");
}

static void lay_out(struct panel *p, struct cw_chart *chart) {
    static const double height = 210;
    double low, high, from_s, to_s, top = chart->y + CW_CHART_ROW + 11;
    value_range(p, &low, &high);
    time_range(p, &from_s, &to_s);
    p->plot =
        (struct cw_plot){.x = cw_axis_make_clock(from_s, to_s, CW_CHART_LEFT + 10, CW_CHART_RIGHT),
                         .y = cw_axis_make(low, high, top + height, top, 6, true),
                         .y_means = p->rolls ? "Crr at 20 \xc2\xb0\x43" : "CdA, m\xc2\xb2"};
    name_clock(p);
    p->plot.x_means = cw_axis_has_dates(&p->plot.x) ? "date" : p->clock;
}

static void draw_key(const struct panel *p, struct cw_chart *chart) {
    struct cw_key key = {0};
    for (size_t i = 0; i < p->n; i++)
        if (!i || p->marks[i].of != p->marks[i - 1].of)
            cw_key_add(&key, chart, p->marks[i].of, false, name_of(p, p->marks[i].of));
    cw_key_end(&key, chart);
}

static void draw_all(const struct panel *p, struct cw_chart *chart, size_t of) {
    const struct cw_estimate *all = of_all(p, of);
    const struct cw_axis *y = &p->plot.y;
    double x[2] = {p->plot.x.low, p->plot.x.high}, value[2] = {all->value, all->value};
    double low[2] = {fmax(all->low, y->low), fmax(all->low, y->low)};
    double high[2] = {fmin(all->high, y->high), fmin(all->high, y->high)};
    cw_plot_band(chart, &p->plot, of, "", 2, x, low, high);
    cw_plot_line(chart, &p->plot, of, "thin", 2, x, value);
}

static void draw_mark(const struct panel *p, struct cw_chart *chart, size_t i) {
    const struct cw_history_mark *mark = &p->marks[i];
    const struct cw_axis *y = &p->plot.y;
    struct cw_text value = {0};
    char date[40];
    double x = place_of(p, i);
    cw_time_write(clock_s(p, i), date, sizeof date);
    cw_text_add(&value, "%.10s, %s: ", date, name_of(p, mark->of));
    cw_scene_add_estimate(&value, &mark->estimate, p->unit, false);
    cw_text_add(&value, ", %zu runs", mark->runs);
    cw_chart_line(chart, mark->of, "bold plain", x, cw_axis_at(y, fmax(mark->estimate.low, y->low)),
                  x, cw_axis_at(y, fmin(mark->estimate.high, y->high)));
    cw_chart_mark(chart, mark->of, x, cw_axis_at(y, mark->estimate.value), 5, value.bytes);
    chart->fails |= value.failed;
    cw_text_free(&value);
}

static void describe(const struct panel *p, struct cw_text *text) {
    for (size_t i = 0; i < p->n; i++) {
        if (i && p->marks[i].of == p->marks[i - 1].of) continue;
        size_t outings = 1;
        while (i + outings < p->n && p->marks[i + outings].of == p->marks[i].of) outings++;
        cw_text_add(text, "%s of %s: ", p->rolls ? " Crr" : " CdA", name_of(p, p->marks[i].of));
        cw_scene_add_estimate(text, of_all(p, p->marks[i].of), p->unit, false);
        cw_text_add(text, " over %zu outings.", outings);
    }
}

static void draw(struct panel *p, struct cw_chart *chart, struct cw_text *description) {
    if (!p->n) return;
    draw_key(p, chart);
    lay_out(p, chart);
    cw_plot_open(chart, &p->plot, true, true);
    for (size_t i = 0; i < p->n; i++)
        if (!i || p->marks[i].of != p->marks[i - 1].of) draw_all(p, chart, p->marks[i].of);
    for (size_t i = 0; i < p->n; i++) draw_mark(p, chart, i);
    cw_plot_close(chart, &p->plot, true);
    describe(p, description);
}

enum cw_status cw_picture_history(const struct cw_scene *scene, struct cw_chart *chart,
                                  struct cw_text *description, struct cw_error *error) {
    const struct cw_history *history = &scene->analysis->compare.history;
    struct panel drag = {.analysis = scene->analysis,
                         .n = history->n_cda,
                         .marks = history->cda,
                         .unit = "m\xc2\xb2"};
    struct panel rolling = {.analysis = scene->analysis,
                            .n = history->n_crr,
                            .marks = history->crr,
                            .rolls = true,
                            .unit = ""};
    (void)error;
    cw_text_add(description, "Along time, with 95 %% intervals.");
    draw(&drag, chart, description);
    draw(&rolling, chart, description);
    cw_chart_note(chart,
                  "A mark is an outing by itself, its line the 95\xc2\xa0% interval; a band is "
                  "all outings together. What all outings share keeps the bands from "
                  "narrowing.");
    return CW_OK;
}
