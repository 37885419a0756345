/* What the uncertainty is made of: each cause's effect on CdA and on a difference, as bars. All
 * figures are the comparison's, as in the tables. */
#include <math.h>
#include <stdlib.h>

#include "picture/chart.h"
#include "picture/pictures.h"
#include "picture/scene.h"
#include "report/budget_table.h"
#include "report/plain.h"
#include "report/units.h"

/* Bars of one row. */
struct share {
    const struct cw_cause_effect *cause; /* NULL for what is not one cause */
    const char *name;
    double cda_percent, difference_percent; /* NaN where there is none */
};

struct budget {
    const struct cw_compare *compare;
    bool several; /* outings */
    size_t n;
    struct share *shares;
};

static int larger_first(const void *a, const void *b) {
    const struct share *x = a, *y = b;
    double p = fmax(fabs(x->cda_percent), fabs(x->difference_percent));
    double q = fmax(fabs(y->cda_percent), fabs(y->difference_percent));
    if (isnan(p) || isnan(q)) return isnan(p) - isnan(q);
    return (p < q) - (p > q);
}

static enum cw_status gather(struct budget *b, struct cw_error *error) {
    const struct cw_compare *compare = b->compare;
    b->shares = calloc(compare->n_causes + 2, sizeof *b->shares);
    if (!b->shares) return cw_error_memory(error);
    for (size_t c = 0; c < compare->n_causes; c++) {
        const struct cw_cause_effect *cause = &compare->causes[c];
        b->shares[b->n++] =
            (struct share){cause, cause->name, cause->cda_percent, cause->difference_percent};
    }
    qsort(b->shares, b->n, sizeof *b->shares, larger_first);
    b->shares[b->n++] = (struct share){NULL, CW_BUDGET_ALL, compare->systematic_percent,
                                       compare->systematic_difference_percent};
    b->shares[b->n++] =
        (struct share){NULL, CW_BUDGET_NOISE, compare->noise_percent,
                       compare->n_comparisons ? compare->comparisons[0].noise_percent : NAN};
    return CW_OK;
}

static double largest(const struct budget *b) {
    double low = 0, most = 0;
    for (size_t i = 0; i < b->n; i++) {
        cw_range_add(&low, &most, fabs(b->shares[i].cda_percent));
        cw_range_add(&low, &most, fabs(b->shares[i].difference_percent));
    }
    return most;
}

/* As long as the effect is large; its sign, that of more of the cause, is in the figure. */
static void draw_bar(const struct cw_plot *plot, struct cw_chart *chart, double y, double percent,
                     bool difference, const char *name) {
    struct cw_text text = {0}, value = {0};
    double x = cw_axis_at(&plot->x, fabs(percent)), height = 11;
    if (!isfinite(x)) return;
    cw_figure_add(&text, percent, CW_BUDGET_DECIMALS, false);
    if (text.bytes) {
        cw_text_add(&value, "%s: %s %% of %s", name, text.bytes,
                    difference ? "the difference" : "CdA");
        cw_text_add(&chart->body, "<g");
        if (value.bytes) cw_chart_value(chart, value.bytes);
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

static void draw_share(const struct share *share, struct cw_chart *chart,
                       const struct cw_plot *plot, double y) {
    static const struct cw_look look = {.utf8 = true};
    const struct cw_signs sign = cw_signs_of(&look);
    struct cw_text name = {0};
    cw_text_add(&name, "%s", share->name);
    if (share->cause) {
        struct cw_unit_shown shown =
            cw_unit_shown_apart(chart->units, cw_budget_unit(share->cause, &sign));
        cw_text_add(&name, " %s " CW_BUDGET_OFF " %s", sign.plus_minus,
                    shown.factor * share->cause->uncertainty, shown.unit);
    }
    if (name.bytes)
        cw_chart_text(chart, plot->x.from + 2, y + 17, 's', share->cause ? "halo" : "strong halo",
                      name.bytes);
    draw_bar(plot, chart, y + 24, share->cda_percent, false, share->name);
    draw_bar(plot, chart, y + 39, share->difference_percent, true, share->name);
    chart->fails |= name.failed;
    cw_text_free(&name);
}

static void draw(const struct budget *b, struct cw_chart *chart, const struct cw_plot *plot,
                 double row) {
    double y = plot->y.to;
    for (size_t i = 0; i < b->n; i++, y += row) {
        if (i == b->compare->n_causes)
            cw_chart_line(chart, 0, "rule", plot->x.from, y, plot->x.to, y);
        draw_share(&b->shares[i], chart, plot, y);
    }
}

static void draw_key(const struct budget *b, struct cw_chart *chart) {
    const struct cw_compare *compare = b->compare;
    struct cw_text text = {0};
    chart->y += CW_CHART_ROW;
    cw_chart_rect(chart, CW_STYLE_NONE, "solid", 12, chart->y - 15, 20, 11);
    cw_chart_text(chart, 38, chart->y - 5, 's', "",
                  b->several ? "on CdA itself, in the outing ridden first" : "on CdA itself");
    if (compare->n_comparisons) {
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
        cw_figure_add(text, b->shares[i].cda_percent, CW_BUDGET_DECIMALS, false);
        if (!isfinite(b->shares[i].difference_percent)) continue;
        cw_text_add(text, " on CdA, ");
        cw_figure_add(text, b->shares[i].difference_percent, CW_BUDGET_DECIMALS, false);
        cw_text_add(text, " on the difference");
    }
    cw_text_add(text, ".");
}

enum cw_status cw_picture_budget(const struct cw_scene *scene, struct cw_chart *chart,
                                 struct cw_text *description, struct cw_error *error) {
    struct budget b = {.compare = cw_analysis_compared(scene->analysis),
                       .several = scene->analysis->n > 1};
    enum cw_status status = gather(&b, error);
    if (status < 0) return status;
    draw_key(&b, chart);
    chart->y += 6;
    double row = b.compare->n_comparisons ? 56 : 41, height = row * (double)b.n + 4;
    struct cw_plot plot = {
        .x = cw_axis_make(0, largest(&b) * 1.12, 12, CW_CHART_RIGHT - 30, 5, false),
        .y = cw_axis_make(0, (double)b.n, chart->y + height, chart->y, 5, false),
        .x_means = "effect of one standard uncertainty, % of CdA",
        .y_means = "causes"};
    cw_plot_open(chart, &plot, true, false);
    draw(&b, chart, &plot, row);
    cw_plot_close(chart, &plot, true);
    describe(&b, description);
    free(b.shares);
    return CW_OK;
}
