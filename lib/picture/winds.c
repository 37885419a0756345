/* The mean wind along the road in each run over clock time: as found, and beside it as noted, as
 * logged and as a companion met it. */
#include <math.h>
#include <stdlib.h>

#include "base/number.h"
#include "fit/workings.h"
#include "outing/air_log.h"
#include "picture/chart.h"
#include "picture/pictures.h"
#include "picture/scene.h"
#include "report/clock.h"
#include "report/estimates.h"

enum { POINTS = 240 }; /* of the log's line */
static const double height = 230;

struct wind {
    const struct cw_run_among *among;
    const struct cw_run *run;
    double middle_s;
};

struct winds {
    const struct cw_scene *scene;
    const struct cw_compare *compare;
    size_t n, n_companion, n_noted, n_logged;
    struct wind *runs; /* in time order */
    bool many;         /* runs: draw bands and lines */
    double run_s;      /* mean duration */
    struct cw_plot plot;
    double aside, size; /* picture units: between marks of one moment; of a mark */
    double offset_s;    /* of the place's clock, that all times here are of, from UTC */
    size_t n_log;       /* POINTS; 0: no line */
    double log_s[POINTS], log_ms[POINTS];
};

/* Styles that no setup has. */
static size_t noted_style(const struct winds *w) {
    return w->compare->n_setups;
}
static size_t log_style(const struct winds *w) {
    return w->compare->n_setups + 1;
}

static void gather(struct winds *w) {
    for (size_t i = 0; i < w->compare->n_runs; i++) {
        const struct cw_run_among *among = cw_scene_wind(w->scene, i);
        if (!among) continue;
        const struct cw_run *run = &w->scene->of->runs.at[w->scene->of->fit.runs[among->index].run];
        w->runs[w->n++] =
            (struct wind){among, run, run->start_s + 0.5 * run->duration_s + w->offset_s};
        w->n_companion += among->companion;
        w->n_noted += isfinite(among->wind_noted_ms) ? 1 : 0;
        w->n_logged += isfinite(among->wind_logged_ms) ? 1 : 0;
        w->run_s += run->duration_s;
    }
    if (w->n) w->run_s /= (double)w->n;
    w->many = w->n > CW_SCENE_RUNS_MOST;
}

/* Of the road from its one end to the other, clockwise from north; NaN without positions. */
static double road_heading(const struct winds *w) {
    const struct cw_fit *fit = &w->scene->of->fit;
    if (!fit->n_roads || !fit->workings->roads) return NAN;
    const struct cw_road *road = &fit->workings->roads[CW_ROAD_MAIN];
    if (road->n < 2) return NAN;
    return atan2(road->east_m[road->n - 1] - road->east_m[0],
                 road->north_m[road->n - 1] - road->north_m[0]);
}

/* What the log has over as long as a run lasts, all the time: what runs at that time would meet. */
static void follow_log(struct winds *w, double from_s, double to_s) {
    const struct cw_air_log *log = w->scene->of->log;
    if (!log || !w->n_logged || !cw_air_log_has_wind(log)) return;
    double heading = log->wind_along_ms ? 0 : road_heading(w);
    if (isnan(heading)) return;
    w->n_log = POINTS;
    for (size_t k = 0; k < POINTS; k++) {
        double at = from_s + (to_s - from_s) * (double)k / (POINTS - 1), along, cross, share;
        double utc_s = at - w->offset_s;
        bool known = cw_air_log_mean_wind(log, utc_s - 0.5 * w->run_s, utc_s + 0.5 * w->run_s,
                                          heading, &along, &cross, &share);
        w->log_s[k] = at;
        w->log_ms[k] = known && share >= CW_AIR_LOG_ENOUGH ? along : NAN;
    }
}

/* From a little before the first run to a little after the last. */
static void span(const struct winds *w, double *from_s, double *to_s) {
    *from_s = INFINITY;
    *to_s = -INFINITY;
    for (size_t i = 0; i < w->n; i++) {
        double half_s = 0.5 * w->runs[i].run->duration_s;
        cw_range_add(from_s, to_s, w->runs[i].middle_s - half_s);
        cw_range_add(from_s, to_s, w->runs[i].middle_s + half_s);
    }
    double margin = 0.04 * (*to_s - *from_s);
    *from_s -= margin;
    *to_s += margin;
}

static void lay_out(struct winds *w, struct cw_chart *chart, double from_s, double to_s) {
    double low = 0, high = 0, apart = INFINITY;
    const struct wind *before = NULL;
    for (size_t i = 0; i < w->n; i++) {
        const struct cw_run_among *among = w->runs[i].among;
        cw_range_add(&low, &high, among->wind_along_ms.value);
        cw_range_add(&low, &high, among->wind_along_ms.low);
        cw_range_add(&low, &high, among->wind_along_ms.high);
        cw_range_add(&low, &high, among->wind_noted_ms);
        if (among->companion) continue;
        if (before) apart = fmin(apart, fabs(w->runs[i].middle_s - before->middle_s));
        before = &w->runs[i];
    }
    for (size_t k = 0; k < w->n_log; k++) cw_range_add(&low, &high, w->log_ms[k]);
    double top = chart->y + CW_CHART_ROW + 11;
    w->plot.x = cw_axis_make_clock(from_s, to_s, CW_CHART_LEFT, CW_CHART_RIGHT);
    w->plot.y = cw_chart_axis(chart, "m/s", low, high, top + height, top, 6, true);
    w->plot.y_means = "wind along the road, km/h (+ headwind)";
    /* Three marks of one moment beside each other, before those of the next. */
    apart *= (w->plot.x.to - w->plot.x.from) / (w->plot.x.high - w->plot.x.low);
    w->aside = fmin(10, apart / 3);
    w->size = fmin(5, fmax(2.5, 0.55 * w->aside));
}

static double x_of(const struct winds *w, const struct wind *wind) {
    return cw_axis_at(&w->plot.x, wind->middle_s) + (wind->among->companion ? w->aside : 0);
}

static void draw_run(const struct winds *w, struct cw_chart *chart, const struct wind *wind) {
    const struct cw_run_among *among = wind->among;
    const struct cw_axis *y = &w->plot.y;
    const char *setup = w->compare->setups[among->setup].name;
    struct cw_estimate all = among->wind_along_ms, noise = cw_estimate_of_noise(all);
    struct cw_text found = {0}, noted = {0};
    double x = x_of(w, wind);
    cw_text_add(&found, "run %ld, %s: wind ", wind->run->number, setup);
    cw_scene_add_estimate(&found, &all, "m/s", true);
    if (isfinite(among->wind_logged_ms)) {
        cw_text_add(&found, ", logged ");
        cw_figure_add_kmh(&found, among->wind_logged_ms, 1, true);
    }
    cw_scene_open_run(w->scene, chart, wind->run->number, setup);
    if (isfinite(all.low + all.high))
        cw_chart_line(chart, among->setup, "", x, cw_axis_at(y, all.low), x,
                      cw_axis_at(y, all.high));
    if (isfinite(noise.low + noise.high))
        cw_chart_line(chart, among->setup, "noise", x, cw_axis_at(y, noise.low), x,
                      cw_axis_at(y, noise.high));
    cw_chart_mark(chart, among->setup, x, cw_axis_at(y, all.value), w->size, found.bytes);
    if (isfinite(among->wind_noted_ms)) {
        cw_text_add(&noted, "run %ld, %s: noted ", wind->run->number, setup);
        cw_figure_add_kmh(&noted, among->wind_noted_ms, 1, true);
        cw_chart_mark(chart, noted_style(w), x - w->aside, cw_axis_at(y, among->wind_noted_ms),
                      w->size, noted.bytes);
    }
    cw_scene_close_run(chart);
    chart->fails |= found.failed || noted.failed;
    cw_text_free(&found);
    cw_text_free(&noted);
}

/* A rider's runs, or what was noted at them, as a line over a band. */
static void draw_line(const struct winds *w, struct cw_chart *chart, bool companion, bool noted) {
    double *block = malloc(4 * w->n * sizeof *block);
    size_t n = 0, style = noted_style(w);
    if (!block) {
        chart->fails = true;
        return;
    }
    double *time_s = block, *wind = block + w->n, *low = wind + w->n, *high = low + w->n;
    for (size_t i = 0; i < w->n; i++) {
        const struct cw_run_among *among = w->runs[i].among;
        if (among->companion != companion || (noted && isnan(among->wind_noted_ms))) continue;
        if (!noted) style = companion ? among->setup : CW_STYLE_NONE;
        time_s[n] = w->runs[i].middle_s;
        wind[n] = noted ? among->wind_noted_ms : among->wind_along_ms.value;
        low[n] = noted ? NAN : among->wind_along_ms.low;
        high[n++] = noted ? NAN : among->wind_along_ms.high;
    }
    if (!companion) cw_plot_band(chart, &w->plot, style, "", n, time_s, low, high);
    cw_plot_line(chart, &w->plot, style, "", n, time_s, wind);
    free(block);
}

/* Its mark stands at its end, as in the key. */
static void draw_log(const struct winds *w, struct cw_chart *chart) {
    double low = INFINITY, high = -INFINITY;
    struct cw_text value = {0};
    size_t last = 0;
    for (size_t k = 0; k < w->n_log; k++) {
        cw_range_add(&low, &high, w->log_ms[k]);
        if (isfinite(w->log_ms[k])) last = k;
    }
    if (low > high) return;
    cw_text_add(&value, "air log: ");
    cw_figure_add_kmh_range(&value, low, high, 1, true);
    cw_plot_line(chart, &w->plot, log_style(w), "", w->n_log, w->log_s, w->log_ms);
    cw_chart_mark(chart, log_style(w), cw_axis_at(&w->plot.x, w->log_s[last]),
                  cw_axis_at(&w->plot.y, w->log_ms[last]), 4.5, value.bytes);
    chart->fails |= value.failed;
    cw_text_free(&value);
}

static void draw(const struct winds *w, struct cw_chart *chart) {
    double zero = cw_axis_at(&w->plot.y, 0);
    cw_chart_line(chart, 0, "rule", w->plot.x.from, zero, w->plot.x.to, zero);
    draw_log(w, chart);
    for (size_t i = 0; !w->many && i < w->n; i++) draw_run(w, chart, &w->runs[i]);
    if (!w->many) return;
    if (w->n > w->n_companion) draw_line(w, chart, false, false);
    if (w->n_companion) draw_line(w, chart, true, false);
    if (w->n_noted) draw_line(w, chart, false, true);
}

static void add_key(const struct winds *w, struct cw_chart *chart) {
    struct cw_key key = {0};
    if (w->many) cw_key_add(&key, chart, CW_STYLE_NONE, true, "found in the rider's runs");
    for (size_t s = 0; s < w->compare->n_setups; s++) {
        const struct cw_setup_result *setup = &w->compare->setups[s];
        struct cw_text name = {0};
        bool here = false;
        for (size_t i = 0; i < w->n; i++) here |= w->runs[i].among->setup == s;
        if (!here || (w->many && !*setup->rider)) continue;
        cw_text_add(&name, *setup->rider ? "companion: %s" : "%s", setup->name);
        if (name.bytes) cw_key_add(&key, chart, s, w->many, name.bytes);
        chart->fails |= name.failed;
        cw_text_free(&name);
    }
    if (w->n_noted) cw_key_add(&key, chart, noted_style(w), w->many, "noted");
    if (w->n_log) cw_key_add(&key, chart, log_style(w), true, "air log");
    cw_key_end(&key, chart);
}

/* What is not used, and why; of what is, how much of the wind it sees. */
static void add_seen(const struct winds *w, struct cw_chart *chart) {
    static const char *const who[CW_WIND_SEEN] = {"the notes", "the air log"};
    static const char *const verb[CW_WIND_SEEN] = {"go", "goes"};
    const size_t n[CW_WIND_SEEN] = {w->n_noted, w->n_logged};
    for (size_t k = 0; k < CW_WIND_SEEN; k++) {
        const struct cw_winds_seen *seen = &w->compare->wind.seen[k];
        struct cw_text note = {0};
        if (!n[k]) continue;
        if (seen->use == CW_WIND_AGAINST)
            cw_text_add(&note, "Not used: %s, which %s against what the runs show.", who[k],
                        verb[k]);
        else if (seen->use == CW_WIND_UNRELATED)
            cw_text_add(&note, "Not used: %s, which the runs show nothing of.", who[k]);
        else if (seen->use == CW_WIND_USED && isfinite(seen->factor.median))
            cw_text_add(&note, "%s %.2f of the road's wind (%.2f to %.2f).",
                        k ? "The air log sees" : "The notes have", seen->factor.median,
                        seen->factor.low, seen->factor.high);
        if (note.bytes) cw_chart_note(chart, note.bytes);
        chart->fails |= note.failed;
        cw_text_free(&note);
    }
}

static void add_notes(const struct winds *w, struct cw_chart *chart) {
    struct cw_text note = {0};
    cw_text_add(
        &note,
        w->many ? "Too many runs to draw each: lines through them, and a band of the 95\xc2\xa0%% "
                  "intervals."
                : "Thick lines: 95\xc2\xa0%% intervals of how a run's wind differs from other "
                  "runs'. Thin: of the wind itself, the outing's mean wind counted too.");
    if (!w->many && w->n_noted) cw_text_add(&note, " What was noted stands left of its run.");
    if (!w->many && w->n_companion) cw_text_add(&note, " A companion's run stands to the right.");
    if (w->n_log)
        cw_text_add(&note, " The log's line: means over %.0f\xc2\xa0s, as long as a run lasts.",
                    w->run_s);
    if (note.bytes) cw_chart_note(chart, note.bytes);
    chart->fails |= note.failed;
    cw_text_free(&note);
    add_seen(w, chart);
}

static void describe_kind(const struct winds *w, bool companion, const char *of,
                          struct cw_text *text) {
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < w->n; i++)
        if (w->runs[i].among->companion == companion)
            cw_range_add(&low, &high, w->runs[i].among->wind_along_ms.value);
    if (low > high) return;
    cw_text_add(text, "%s from ", of);
    cw_figure_add_kmh_range(text, low, high, 1, true);
}

static void describe(const struct winds *w, struct cw_text *text) {
    cw_text_add(text, "Mean wind along the road in %zu runs over clock time, + a headwind", w->n);
    describe_kind(w, false, "; found in the rider's", text);
    describe_kind(w, true, "; in a companion's", text);
    for (int logged = 0; logged < 2; logged++) {
        double low = INFINITY, high = -INFINITY;
        for (size_t i = 0; i < w->n; i++)
            cw_range_add(&low, &high,
                         logged ? w->runs[i].among->wind_logged_ms
                                : w->runs[i].among->wind_noted_ms);
        if (low > high) continue;
        cw_text_add(text, "; %s from ", logged ? "logged" : "noted");
        cw_figure_add_kmh_range(text, low, high, 1, true);
    }
    for (size_t i = 0; !w->many && i < w->n; i++) {
        const struct cw_run_among *among = w->runs[i].among;
        cw_text_add(text, "%s run %ld ", i ? ";" : ".", w->runs[i].run->number);
        cw_scene_add_estimate(text, &among->wind_along_ms, "m/s", true);
    }
    cw_text_add(text, ".%s", w->many ? "" : " Brackets are 95 % intervals.");
}

enum cw_status cw_picture_winds(const struct cw_scene *scene, struct cw_chart *chart,
                                struct cw_text *description, struct cw_error *error) {
    struct winds w = {.scene = scene, .compare = cw_analysis_compared(scene->analysis)};
    struct cw_text means = {0};
    double from_s, to_s;
    char date[40];
    const struct cw_clock clock = cw_clock_of(scene->of);
    w.offset_s = clock.offset_s;
    w.runs = malloc((w.compare->n_runs + 1) * sizeof *w.runs);
    if (!w.runs) return cw_error_memory(error);
    gather(&w);
    span(&w, &from_s, &to_s);
    follow_log(&w, from_s, to_s);
    add_key(&w, chart);
    lay_out(&w, chart, from_s, to_s);
    cw_time_write(from_s, date, sizeof date);
    if (cw_axis_has_dates(&w.plot.x))
        cw_text_add(&means, "date, %s", clock.name);
    else
        cw_text_add(&means, "clock time on %.10s, %s", date, clock.name);
    w.plot.x_means = means.bytes ? means.bytes : "";
    cw_plot_open(chart, &w.plot, true, true);
    draw(&w, chart);
    cw_plot_close(chart, &w.plot, true);
    add_notes(&w, chart);
    describe(&w, description);
    chart->fails |= means.failed;
    cw_text_free(&means);
    free(w.runs);
    return CW_OK;
}
