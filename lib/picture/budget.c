/* What the uncertainty is made of: each cause's effect on CdA and on a difference, as bars. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "picture/picture.h"
#include "picture/pictures.h"
#include "report/interval.h"

struct share {
    const char *name, *unit; /* unit: NULL for what is not one cause */
    double uncertainty;
    double cda_percent, difference_percent; /* NaN where there is none */
};

struct budget {
    const struct cw_scene *scene;
    size_t n;
    struct share *shares;
    bool has_difference;
    double most;
};

static double mean_effect(const struct cw_scene *scene, const double *effect, size_t setup) {
    const struct cw_fit *fit = &scene->of->fit;
    double sum = 0, n = 0;
    for (size_t i = 0; i < scene->n; i++) {
        size_t at = (size_t)(scene->runs[i].data - fit->joint.data);
        double cda = fit->joint.cda_m2[at];
        if (setup != (size_t)-1 && scene->runs[i].setup != setup) continue;
        if (!isfinite(effect[fit->n_tyres + at] / cda)) continue;
        sum += 100 * effect[fit->n_tyres + at] / cda;
        n += 1;
    }
    return n > 0 ? sum / n : NAN;
}

/* Noise's share: of the mean CdA, the setups' standard errors at the mean; of the difference, that
 * of the first comparison. */
static void add_noise(const struct cw_scene *scene, struct share *share) {
    const struct cw_compare *compare = cw_analysis_compared(scene->analysis);
    double sum = 0, n = 0;
    for (size_t s = 0; s < scene->n_setups; s++) {
        const struct cw_setup_result *r = scene->setups[s].result;
        if (!r || !isfinite(r->cda_m2.standard_error / r->cda_m2.value)) continue;
        sum += 100 * r->cda_m2.standard_error / r->cda_m2.value;
        n += 1;
    }
    *share =
        (struct share){"noise: gusts, recorder, scatter", NULL, NAN, n > 0 ? sum / n : NAN, NAN};
    if (compare && compare->n_comparisons)
        share->difference_percent = compare->comparisons[0].percent.standard_error;
}

static int larger_first(const void *a, const void *b) {
    const struct share *x = a, *y = b;
    double p = fmax(fabs(x->cda_percent), fabs(x->difference_percent));
    double q = fmax(fabs(y->cda_percent), fabs(y->difference_percent));
    if (isnan(p) || isnan(q)) return isnan(p) - isnan(q);
    return (p < q) - (p > q);
}

static size_t setup_named(const struct cw_scene *scene, size_t result) {
    for (size_t s = 0; s < scene->n_setups; s++)
        if (scene->setups[s].result == &scene->analysis->compare.setups[result]) return s;
    return (size_t)-1;
}

static enum cw_status gather(struct budget *b, struct cw_error *error) {
    const struct cw_scene *scene = b->scene;
    const struct cw_budget *budget = &scene->of->fit.budget;
    const struct cw_compare *compare = cw_analysis_compared(scene->analysis);
    if (!budget->n)
        return cw_error_set(error, CW_E_DATA, scene->of->outing.file, 0,
                            "the fit has no error budget to draw");
    b->shares = calloc(budget->n + 2, sizeof *b->shares);
    if (!b->shares) return cw_error_memory(error);
    size_t setup = (size_t)-1, reference = (size_t)-1;
    if (compare && compare->n_comparisons) {
        setup = setup_named(scene, compare->comparisons[0].setup);
        reference = setup_named(scene, compare->comparisons[0].reference);
    }
    bool pair = setup != (size_t)-1 && reference != (size_t)-1;
    double squares[2] = {0, 0};
    for (size_t c = 0; c < budget->n; c++) {
        const struct cw_cause *cause = &budget->causes[c];
        struct share share = {cause->name, cause->unit, cause->uncertainty,
                              mean_effect(scene, cause->effect, (size_t)-1), NAN};
        if (pair)
            share.difference_percent = mean_effect(scene, cause->effect, setup) -
                                       mean_effect(scene, cause->effect, reference);
        b->shares[c] = share;
        squares[0] += isnan(share.cda_percent) ? 0 : share.cda_percent * share.cda_percent;
        squares[1] += isnan(share.difference_percent)
                          ? 0
                          : share.difference_percent * share.difference_percent;
    }
    qsort(b->shares, budget->n, sizeof *b->shares, larger_first);
    b->n = budget->n;
    b->shares[b->n++] = (struct share){"all of these together", NULL, NAN, sqrt(squares[0]),
                                       pair ? sqrt(squares[1]) : NAN};
    add_noise(scene, &b->shares[b->n]);
    if (isfinite(b->shares[b->n].cda_percent) || isfinite(b->shares[b->n].difference_percent))
        b->n++;
    double low = 0;
    for (size_t i = 0; i < b->n; i++) {
        b->has_difference |= isfinite(b->shares[i].difference_percent);
        cw_range_add(&low, &b->most, fabs(b->shares[i].cda_percent));
        cw_range_add(&low, &b->most, fabs(b->shares[i].difference_percent));
    }
    return CW_OK;
}

static void draw_bar(const struct cw_plot *plot, struct cw_chart *chart, double y, double height,
                     double percent, bool difference, const char *name) {
    struct cw_text text = {0}, value = {0};
    double x = cw_axis_at(&plot->x, fabs(percent));
    if (!isfinite(x)) return;
    if (fabs(percent) < 0.001)
        cw_text_add(&text, "below 0.001");
    else
        cw_figure_add(&text, fabs(percent), fabs(percent) < 0.0995 ? 3 : 2, false);
    if (text.bytes) {
        cw_text_add(&value, "%s: %s %% of %s", name, text.bytes,
                    difference ? "the difference" : "CdA");
        cw_text_add(&chart->body, "<g");
        if (value.bytes) cw_chart_attribute(chart, "data-value", value.bytes);
        cw_text_add(&chart->body, ">");
        cw_chart_rect(chart, CW_STYLE_NONE, difference ? "open" : "solid", plot->x.from, y,
                      fmax(1, x - plot->x.from), height);
        cw_text_add(&chart->body, "</g>");
        cw_chart_text(chart, x + 6, y + 0.5 * height + 5, 's', "halo", text.bytes);
    }
    chart->fails |= text.failed || value.failed;
    cw_text_free(&text);
    cw_text_free(&value);
}

static void draw(const struct budget *b, struct cw_chart *chart, const struct cw_plot *plot,
                 double row) {
    double y = plot->y.to;
    for (size_t i = 0; i < b->n; i++) {
        const struct share *share = &b->shares[i];
        struct cw_text name = {0};
        cw_text_add(&name, "%s", share->name);
        if (share->unit) {
            cw_text_add(&name, " \xc2\xb1 ");
            cw_text_add_number(&name, share->uncertainty, cw_error_decimals(share->uncertainty));
            cw_text_add(&name, " %s",
                        !strcmp(share->unit, "C") ? "\xc2\xb0"
                                                    "C"
                                                  : share->unit);
        }
        if (i && !share->unit && b->shares[i - 1].unit)
            cw_chart_line(chart, 0, "rule", plot->x.from, y, plot->x.to, y);
        if (name.bytes)
            cw_chart_text(chart, plot->x.from + 2, y + 17, 's',
                          share->unit ? "halo" : "strong halo", name.bytes);
        draw_bar(plot, chart, y + 24, 11, share->cda_percent, false, share->name);
        if (b->has_difference)
            draw_bar(plot, chart, y + 39, 11, share->difference_percent, true, share->name);
        chart->fails |= name.failed;
        cw_text_free(&name);
        y += row;
    }
}

static void draw_key(const struct budget *b, struct cw_chart *chart) {
    const struct cw_compare *compare = cw_analysis_compared(b->scene->analysis);
    struct cw_text text = {0};
    chart->y += CW_CHART_ROW;
    cw_chart_rect(chart, CW_STYLE_NONE, "solid", 12, chart->y - 15, 20, 11);
    cw_chart_text(chart, 38, chart->y - 5, 's', "", "on CdA itself");
    if (b->has_difference) {
        chart->y += CW_CHART_ROW;
        cw_chart_rect(chart, CW_STYLE_NONE, "open", 12, chart->y - 15, 20, 11);
        static const char before[] = "on the difference ", between[] = " against ";
        double room = 0.5 * (CW_CHART_WIDTH - 38 - 12 - cw_label_width(before, CW_CHART_FONT) -
                             cw_label_width(between, CW_CHART_FONT));
        const struct cw_comparison *first = &compare->comparisons[0];
        cw_text_add(&text, "%s", before);
        cw_label_shorten(&text, compare->setups[first->setup].name, room, CW_CHART_FONT);
        cw_text_add(&text, "%s", between);
        cw_label_shorten(&text, compare->setups[first->reference].name, room, CW_CHART_FONT);
        if (text.bytes) cw_chart_text(chart, 38, chart->y - 5, 's', "", text.bytes);
    }
    chart->fails |= text.failed;
    cw_text_free(&text);
}

static void describe(const struct budget *b, struct cw_text *text) {
    cw_text_add(text, "Effect of one standard uncertainty of each cause, percent of CdA");
    for (size_t i = 0; i < b->n; i++) {
        cw_text_add(text, "; %s: ", b->shares[i].name);
        cw_figure_add(text, fabs(b->shares[i].cda_percent), 2, false);
        if (!isfinite(b->shares[i].difference_percent)) continue;
        cw_text_add(text, " on CdA, ");
        cw_figure_add(text, fabs(b->shares[i].difference_percent), 3, false);
        cw_text_add(text, " on the difference");
    }
    cw_text_add(text, ".");
}

enum cw_status cw_picture_budget(const struct cw_scene *scene, const char *id_prefix,
                                 struct cw_text *out, struct cw_error *error) {
    struct budget b = {.scene = scene};
    struct cw_chart chart;
    struct cw_text description = {0};
    enum cw_status status = gather(&b, error);
    if (status < 0) goto cleanup;
    cw_chart_begin(&chart);
    draw_key(&b, &chart);
    chart.y += 6;
    double row = b.has_difference ? 56 : 41, height = row * (double)b.n + 4;
    struct cw_plot plot = {.x = cw_axis_make(0, b.most * 1.12, 12, CW_CHART_RIGHT - 30, 5, false),
                           .y = cw_axis_make(0, (double)b.n, chart.y + height, chart.y, 5, false),
                           .x_means = "effect of one standard uncertainty, % of CdA",
                           .y_means = "causes"};
    cw_plot_open(&chart, &plot, true, false);
    draw(&b, &chart, &plot, row);
    cw_plot_close(&chart, &plot, true);
    describe(&b, &description);
    status = cw_scene_finish(scene, &chart, id_prefix, cw_picture_name(CW_PICTURE_BUDGET),
                             cw_picture_title(CW_PICTURE_BUDGET), &description, out, error);
cleanup:
    cw_text_free(&description);
    free(b.shares);
    return status;
}
