#include "picture/scene.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/ride_kind.h"
#include "fit/workings.h"
#include "report/estimates.h"
#include "report/units.h"
#include "timed/gates.h"

/* Runs that the common stretch is chosen by. */
#define STRETCH_RUNS 100

#define NUMBER_HEIGHT 17.0 /* of a run's number at a line's end */

static const char no_setup[] = "no setup";

/* A setup's style: its place in the comparison, else in the outing. */
static void name_setup(const struct cw_analysis *analysis, const struct cw_analysed *o,
                       size_t setup, struct cw_scene_setup *named) {
    const char *name = cw_analysed_setup(o, setup);
    const struct cw_compare *compare = cw_analysis_compared(analysis);
    *named = (struct cw_scene_setup){.name = no_setup, .style = CW_STYLE_NONE};
    if (!name) return;
    named->name = name;
    named->rider = o->outing.setups[setup].rider;
    named->style = setup;
    if (!compare) return;
    size_t i = cw_compare_setup_named(compare, name);
    if (i == compare->n_setups) return;
    named->style = i;
    named->result = &compare->setups[i];
    for (size_t c = 0; c < compare->n_comparisons; c++)
        if (compare->comparisons[c].setup == i && compare->comparisons[c].reference == 0)
            named->against = &compare->comparisons[c];
}

static size_t find_setup(struct cw_scene *scene, size_t setup) {
    struct cw_scene_setup named;
    name_setup(scene->analysis, scene->of, setup, &named);
    size_t at = 0;
    while (at < scene->n_setups && strcmp(scene->setups[at].name, named.name)) at++;
    if (at == scene->n_setups) scene->setups[scene->n_setups++] = named;
    scene->setups[at].n++;
    return at;
}

static int by_style(const void *a, const void *b) {
    size_t x = ((const struct cw_scene_setup *)a)->style;
    size_t y = ((const struct cw_scene_setup *)b)->style;
    return (x > y) - (x < y);
}

static int by_time(const void *a, const void *b) {
    const struct cw_scene_run *x = a, *y = b;
    if (x->run->start_s != y->run->start_s) return x->run->start_s > y->run->start_s ? 1 : -1;
    return (x->run->number > y->run->number) - (x->run->number < y->run->number);
}

static void gather(struct cw_scene *scene) {
    const struct cw_fit *fit = &scene->of->fit;
    for (size_t i = 0; i < fit->n_runs; i++) {
        const struct cw_run_data *data = &fit->workings->joint.data[i];
        if (data->n < 2 || fit->runs[i].run >= scene->of->runs.n) continue;
        scene->runs[scene->n++] =
            (struct cw_scene_run){.fit = &fit->runs[i],
                                  .data = data,
                                  .run = &scene->of->runs.at[fit->runs[i].run],
                                  .setup = find_setup(scene, fit->runs[i].setup)};
    }
    qsort(scene->runs, scene->n, sizeof *scene->runs, by_time);
    qsort(scene->setups, scene->n_setups, sizeof *scene->setups, by_style);
    for (size_t i = 0; i < scene->n; i++) { /* find them again where sorting put them */
        struct cw_scene_setup named;
        name_setup(scene->analysis, scene->of, scene->runs[i].fit->setup, &named);
        size_t at = 0;
        while (strcmp(scene->setups[at].name, named.name)) at++;
        scene->runs[i].setup = at;
    }
}

/* Of an ordinary ride the longest run shows most. */
static size_t road_of(const struct cw_scene *scene) {
    const struct cw_scene_run *longest = NULL;
    if (cw_ride_kind_of(scene->of).repeated) return CW_ROAD_MAIN;
    for (size_t i = 0; i < scene->n; i++) {
        const struct cw_scene_run *run = &scene->runs[i];
        if (!run->data->reversed && (!longest || run->run->distance_m > longest->run->distance_m))
            longest = run;
    }
    return longest ? longest->data->road : CW_ROAD_MAIN;
}

enum cw_status cw_scene_make(const struct cw_analysis *analysis, size_t outing,
                             struct cw_scene *scene, struct cw_error *error) {
    *scene = (struct cw_scene){.analysis = analysis, .outing_number = outing + 1};
    if (outing >= analysis->n)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "the report has no such outing");
    scene->of = &analysis->outings[outing];
    const struct cw_fit *fit = &scene->of->fit;
    const char *file = scene->of->outing.file;
    if (!fit->n_runs)
        return cw_error_set(error, CW_E_DATA, file, 0, "no run was fitted: nothing to draw");
    scene->runs = calloc(fit->n_runs, sizeof *scene->runs);
    scene->setups = calloc(fit->n_runs + 1, sizeof *scene->setups);
    if (!scene->runs || !scene->setups) return cw_error_memory(error);
    gather(scene);
    if (!scene->n)
        return cw_error_set(error, CW_E_DATA, file, 0, "no run was fitted: nothing to draw");
    scene->road = road_of(scene);
    for (size_t i = 0; i < scene->n; i++)
        scene->n_on_road += cw_scene_on_road(scene, scene->runs[i].data);
    scene->many = scene->n > CW_SCENE_RUNS_MOST;
    scene->many_on_road = scene->n_on_road > CW_SCENE_RUNS_MOST;
    return CW_OK;
}

void cw_scene_free(struct cw_scene *scene) {
    free(scene->runs);
    free(scene->setups);
    *scene = (struct cw_scene){0};
}

void cw_scene_open_run(const struct cw_scene *scene, struct cw_chart *chart, long number,
                       const char *setup) {
    cw_text_add(&chart->body, "<g class=\"run\" data-run=\"%zu.%ld\"", scene->outing_number,
                number);
    if (setup) cw_chart_attribute(chart, "data-setup", setup);
    cw_text_add(&chart->body, ">");
}

void cw_scene_close_run(struct cw_chart *chart) {
    cw_text_add(&chart->body, "</g>\n");
}

void cw_scene_name_run(const struct cw_scene *scene, const struct cw_scene_run *run,
                       struct cw_text *text) {
    cw_text_add(text, "run %ld, ", run->run->number);
    cw_text_add(text, "%s: ", scene->setups[run->setup].name);
}

void cw_key_add(struct cw_key *key, struct cw_chart *chart, size_t style, bool line,
                const char *name) {
    struct cw_text shown = {0};
    double sample = line ? 36 : 16;
    cw_label_shorten(&shown, name, CW_CHART_WIDTH - 24 - sample, CW_CHART_FONT);
    chart->fails |= shown.failed;
    if (!shown.bytes) cw_text_add(&shown, " ");
    if (shown.bytes) {
        double width = sample + cw_label_width(shown.bytes, CW_CHART_FONT);
        if (!key->any || key->x + width > CW_CHART_WIDTH - 12) {
            key->x = 12;
            chart->y += CW_CHART_ROW;
        }
        cw_chart_sample(chart, style, key->x, chart->y - 5, line);
        cw_chart_text(chart, key->x + sample, chart->y - 5, 's', "", shown.bytes);
        key->x += width + 14;
        key->any = true;
    }
    cw_text_free(&shown);
}

void cw_key_end(struct cw_key *key, struct cw_chart *chart) {
    if (key->any) cw_text_add(&chart->body, "\n");
}

void cw_scene_key(const struct cw_scene *scene, struct cw_chart *chart, bool lines) {
    struct cw_key key = {0};
    if (scene->n_setups < 2) return;
    for (size_t s = 0; s < scene->n_setups; s++)
        cw_key_add(&key, chart, scene->setups[s].style, lines, scene->setups[s].name);
    cw_key_end(&key, chart);
}

void cw_scene_add_estimate(struct cw_text *text, const struct cw_estimate *estimate,
                           const char *unit, bool signed_) {
    struct cw_unit_shown shown = cw_unit_shown(CW_UNITS_METRIC, unit);
    int decimals = cw_error_decimals(shown.factor * estimate->standard_error);
    cw_figure_add(text, shown.factor * estimate->value, decimals, signed_);
    if (*unit) cw_text_add(text, " %s", shown.unit);
    if (!isfinite(estimate->low + estimate->high)) return;
    cw_text_add(text, " (");
    cw_figure_add(text, shown.factor * estimate->low, decimals, signed_);
    cw_text_add(text, " to ");
    cw_figure_add(text, shown.factor * estimate->high, decimals, signed_);
    cw_text_add(text, ")");
}

double cw_scene_numbers_width(const struct cw_scene *scene) {
    return scene->n <= CW_SCENE_NUMBERED_MOST ? 34 : 0;
}

double cw_scene_numbers_height(const struct cw_scene *scene) {
    return scene->n <= CW_SCENE_NUMBERED_MOST ? NUMBER_HEIGHT * (double)scene->n : 0;
}

void cw_scene_number_ends(const struct cw_scene *scene, struct cw_chart *chart,
                          const struct cw_plot *plot, const double *x, const double *y) {
    double wanted[CW_SCENE_NUMBERED_MOST], place[CW_SCENE_NUMBERED_MOST];
    struct cw_box box = cw_plot_box(plot);
    if (scene->n > CW_SCENE_NUMBERED_MOST) return;
    for (size_t i = 0; i < scene->n; i++) wanted[i] = cw_axis_at(&plot->y, y[i]);
    if (cw_labels_stack(scene->n, wanted, NUMBER_HEIGHT, box.top - 4, box.bottom + 4, place, NULL) <
        0) {
        chart->fails = true;
        return;
    }
    for (size_t i = 0; i < scene->n; i++) {
        struct cw_text number = {0};
        if (!isfinite(place[i])) continue;
        cw_text_add(&number, "%ld", scene->runs[i].run->number);
        cw_scene_open_run(scene, chart, scene->runs[i].run->number,
                          scene->setups[scene->runs[i].setup].name);
        cw_chart_line(chart, CW_STYLE_NONE, "thin", cw_axis_at(&plot->x, x[i]) + 5, wanted[i],
                      box.right + 10, place[i]);
        if (number.bytes) cw_chart_text(chart, box.right + 13, place[i] + 5, 's', "", number.bytes);
        cw_scene_close_run(chart);
        chart->fails |= number.failed;
        cw_text_free(&number);
    }
}

void cw_scene_note_elsewhere(const struct cw_scene *scene, struct cw_chart *chart) {
    size_t n = scene->n - scene->n_on_road;
    struct cw_text note = {0};
    if (!n) return;
    cw_text_add(&note, "Not drawn: %zu %s.", n,
                n == 1 ? "run on another road or the other way"
                       : "runs on other roads or the other way");
    if (note.bytes) cw_chart_note(chart, note.bytes);
    chart->fails |= note.failed;
    cw_text_free(&note);
}

static void note_outlier(const struct cw_scene *scene, const struct cw_run_among *among,
                         struct cw_text *note) {
    size_t run = scene->of->fit.runs[among->index].run;
    cw_text_add(note, "Run %ld is not like its fellows: its CdA is ",
                scene->of->runs.at[run].number);
    cw_figure_add(note, among->percent, 1, true);
    cw_text_add(note, "\xc2\xa0%% off");
    if (isfinite(among->worst_m) && isfinite(among->worst_ms)) {
        cw_text_add(note, ", the wind that would explain it strongest at ");
        cw_figure_add(note, among->worst_m, 0, false);
        cw_text_add(note, "\xc2\xa0m (");
        cw_figure_add_kmh(note, among->worst_ms, 1, true);
        cw_text_add(note, ")");
    }
    cw_text_add(note, ".");
}

void cw_scene_note_outliers(const struct cw_scene *scene, struct cw_chart *chart) {
    const struct cw_compare *compare = cw_analysis_compared(scene->analysis);
    for (size_t i = 0; compare && i < compare->n_runs; i++) {
        const struct cw_run_among *among = &compare->runs[i];
        struct cw_text note = {0};
        if (!among->outlier || among->outing + 1 != scene->outing_number ||
            among->index >= scene->of->fit.n_runs)
            continue;
        note_outlier(scene, among, &note);
        if (note.bytes) cw_chart_note(chart, note.bytes);
        chart->fails |= note.failed;
        cw_text_free(&note);
    }
}

const struct cw_run_among *cw_scene_wind(const struct cw_scene *scene, size_t i) {
    const struct cw_compare *compare = cw_analysis_compared(scene->analysis);
    if (!compare || i >= compare->n_runs || isnan(compare->wind.known_ms)) return NULL;
    const struct cw_run_among *among = &compare->runs[i];
    if (among->outing + 1 != scene->outing_number || among->index >= scene->of->fit.n_runs ||
        !isfinite(among->wind_along_ms.value))
        return NULL;
    return among;
}

bool cw_scene_saw_winds(const struct cw_scene *scene) {
    const struct cw_compare *compare = cw_analysis_compared(scene->analysis);
    for (size_t i = 0; compare && i < compare->n_runs; i++) {
        const struct cw_run_among *among = cw_scene_wind(scene, i);
        if (among && cw_among_seen(among)) return true;
    }
    return false;
}

static struct cw_gate_passage pass(const struct cw_run_data *data, double s_m) {
    struct cw_gate_track track = {data->n, data->time_s, data->s_m, data->speed_ms};
    struct cw_gate_passage passage;
    cw_gate_pass(&track, s_m, &passage);
    return passage;
}

double cw_scene_time_at(const struct cw_run_data *data, double s_m) {
    return pass(data, s_m).time_s;
}

double cw_scene_speed_at(const struct cw_run_data *data, double s_m) {
    return pass(data, s_m).speed_ms;
}

enum cw_status cw_scene_stretch(const struct cw_scene *scene, double *from_m, double *to_m,
                                struct cw_error *error) {
    struct cw_gate_reach *reaches = malloc(scene->n * sizeof *reaches);
    double gates_m[CW_GATES_MAX] = {NAN, NAN};
    size_t n = 0, step = 1 + (scene->n - 1) / STRETCH_RUNS; /* choosing takes the square of them */
    if (!reaches) return cw_error_memory(error);
    for (size_t i = 0; i < scene->n; i += step) {
        const struct cw_run_data *data = scene->runs[i].data;
        if (!cw_scene_on_road(scene, data)) continue;
        size_t last = data->n - 1;
        while (last > 0 && data->speed_ms[last] < 3) last--;
        reaches[n++] = (struct cw_gate_reach){data->s_m[0], data->s_m[last], scene->runs[i].setup};
    }
    enum cw_status status =
        n ? cw_gates_choose(n, reaches, 2, gates_m, error)
          : cw_error_set(error, CW_E_DATA, NULL, 0, "no run is on the road that is drawn");
    *from_m = gates_m[0];
    *to_m = gates_m[1];
    free(reaches);
    return status;
}

void cw_scene_reach(const struct cw_scene *scene, double *from_m, double *to_m) {
    *from_m = INFINITY;
    *to_m = -INFINITY;
    for (size_t i = 0; i < scene->n; i++) {
        const struct cw_run_data *data = scene->runs[i].data;
        if (!cw_scene_on_road(scene, data)) continue;
        cw_range_add(from_m, to_m, data->s_m[0]);
        cw_range_add(from_m, to_m, data->s_m[data->n - 1]);
    }
}
