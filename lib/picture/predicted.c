#include "picture/predicted.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "picture/chart.h"
#include "picture/scene.h"
#include "report/cautions.h"
#include "report/predict_facts.h"
#include "report/sentences.h"
#include "report/table.h"

enum { HEIGHTS = 300 };

struct predicted {
    const struct cw_prediction *prediction;
    struct cw_plot speed, heights;
    size_t n;
    double s_m[HEIGHTS], height_m[HEIGHTS];
};

static const char *label(const struct cw_prediction *prediction, size_t i) {
    const struct cw_predicted *ride = &prediction->at[i];
    bool setup = !strncmp(ride->label, "setup=", 6) && !strcmp(ride->label + 6, ride->setup);
    if (i && !setup) return ride->label;
    return *ride->setup ? ride->setup : "as given";
}

static bool lay_out(struct predicted *p, const struct cw_chart *chart) {
    const struct cw_predict_road *road = p->prediction->road;
    double top = 0, low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < p->n; i++) {
        double speed = p->prediction->at[i].of[CW_PREDICT_TOP_SPEED].value;
        if (isfinite(speed)) top = fmax(top, speed);
    }
    if (!(top > 0)) return false;
    for (size_t k = 0; k < HEIGHTS; k++) {
        p->s_m[k] = road->known_m * (double)k / (HEIGHTS - 1);
        p->height_m[k] = cw_predict_road_height(road, p->s_m[k]);
        cw_range_add(&low, &high, p->height_m[k]);
    }
    double at = chart->y + CW_CHART_ROW + 11;
    p->speed = (struct cw_plot){
        .x = cw_chart_axis(chart, "m", 0, road->known_m, CW_CHART_LEFT, CW_CHART_RIGHT, 5, false),
        .y = cw_chart_axis(chart, "m/s", 0, top, at + 190, at, 5, true),
        .x_means = "distance along the road, m",
        .y_means = "speed, km/h"};
    at += 190 + 17 + CW_CHART_ROW;
    p->heights = (struct cw_plot){.x = p->speed.x,
                                  .y = cw_chart_axis(chart, "m", low, high, at + 90, at, 3, true),
                                  .x_means = p->speed.x_means,
                                  .y_means = "height, m"};
    return true;
}

static void draw_key(const struct predicted *p, struct cw_chart *chart) {
    struct cw_key key = {0};
    if (p->n < 2) return;
    for (size_t i = 0; i < p->n; i++) cw_key_add(&key, chart, i, true, label(p->prediction, i));
    cw_key_end(&key, chart);
}

static void draw_ride(const struct predicted *p, size_t i, struct cw_chart *chart) {
    const struct cw_predicted *ride = &p->prediction->at[i];
    const struct cw_predict_trace *trace = &ride->trace;
    struct cw_text value = {0};
    double top_ms = ride->of[CW_PREDICT_TOP_SPEED].value;
    if (isfinite(top_ms)) {
        cw_plot_line(chart, &p->speed, i, "", trace->n, trace->s_m, trace->speed_ms);
        cw_label_shorten(&value, label(p->prediction, i), INFINITY, CW_CHART_FONT);
        cw_text_add(&value, ": ");
        cw_figure_add_kmh(&value, top_ms, 1, false);
        cw_text_add(&value, " at the most");
        cw_chart_mark(chart, i, cw_axis_at(&p->speed.x, ride->of[CW_PREDICT_TOP_PLACE].value),
                      cw_axis_at(&p->speed.y, top_ms), 4, value.bytes);
    }
    chart->fails |= value.failed;
    cw_text_free(&value);
}

static void note_rides(const struct predicted *p, struct cw_chart *chart) {
    for (size_t i = 0; i < p->n; i++) {
        const struct cw_predicted *ride = &p->prediction->at[i];
        const struct cw_estimate *time = &ride->of[CW_PREDICT_TIME];
        struct cw_text note = {0};
        cw_text_add(&note, "%s: ", label(p->prediction, i));
        if (isfinite(time->value)) {
            cw_figure_add(&note, time->value, 2, false);
            cw_text_add(&note, " s");
            if (time->standard_error > 0) {
                cw_text_add(&note, " (");
                cw_figure_add(&note, time->low, 2, false);
                cw_text_add(&note, " to ");
                cw_figure_add(&note, time->high, 2, false);
                cw_text_add(&note, " s)");
            }
        } else {
            cw_text_add(&note, "%s", cw_predict_end_text(ride->end));
        }
        cw_text_add(&note, ".");
        cw_chart_note(chart, note.bytes ? note.bytes : "");
        chart->fails |= note.failed;
        cw_text_free(&note);
    }
}

/* How far it takes to stop, and who has the last word. */
static void note_care(const struct predicted *p, struct cw_chart *chart) {
    struct cw_sentences said = {0};
    cw_predict_cautions(p->prediction, &said);
    const char *first = cw_sentences_next(&said, NULL);
    if (first) cw_chart_note(chart, first);
    cw_chart_note(chart, cw_caution_law);
    chart->fails |= said.text.failed;
    cw_sentences_free(&said);
}

static void describe(const struct predicted *p, struct cw_text *text) {
    const struct cw_predicted *base = &p->prediction->at[0];
    cw_text_add(text, "Predicted speed of %zu %s against distance along the road", p->n,
                p->n == 1 ? "ride" : "rides");
    if (isfinite(base->of[CW_PREDICT_TOP_SPEED].value)) {
        cw_text_add(text, "; the first comes to ");
        cw_figure_add_kmh(text, base->of[CW_PREDICT_TOP_SPEED].value, 1, false);
    }
    cw_text_add(text, ". Below, the road's height.");
}

enum cw_status cw_picture_predicted_add(const struct cw_prediction *prediction, enum cw_units units,
                                        struct cw_text *text, struct cw_error *error) {
    struct predicted p = {.prediction = prediction, .n = prediction->n};
    struct cw_chart chart;
    struct cw_text description = {0};
    cw_chart_begin(&chart, units);
    draw_key(&p, &chart);
    if (!lay_out(&p, &chart)) {
        cw_text_free(&chart.body);
        return cw_error_set(error, CW_E_DATA, NULL, 0, "no ride moves: nothing to draw");
    }
    cw_plot_open(&chart, &p.speed, false, true);
    for (size_t i = 0; i < p.n; i++) draw_ride(&p, i, &chart);
    cw_plot_close(&chart, &p.speed, false);
    cw_plot_open(&chart, &p.heights, true, true);
    cw_plot_line(&chart, &p.heights, CW_STYLE_NONE, "plain", HEIGHTS, p.s_m, p.height_m);
    cw_plot_close(&chart, &p.heights, true);
    note_rides(&p, &chart);
    note_care(&p, &chart);
    describe(&p, &description);
    chart.fails |= description.failed;
    const struct cw_chart_head head = {.id_prefix = "",
                                       .name = "predicted",
                                       .title = "Speed along the road, as predicted",
                                       .subtitle = prediction->road->name,
                                       .description = description.bytes ? description.bytes : ""};
    enum cw_status status = cw_chart_finish(&chart, &head, text, error);
    cw_text_free(&description);
    return status;
}
