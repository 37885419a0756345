#include "picture/chart.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/markup.h"

static void add_tenths(struct cw_text *text, long tenths) {
    unsigned long size = tenths < 0 ? 0UL - (unsigned long)tenths : (unsigned long)tenths;
    if (tenths < 0) cw_text_add_bytes(text, "-", 1);
    if (size >= 10 || size % 10 == 0) cw_text_add(text, "%lu", size / 10);
    if (size % 10) cw_text_add(text, ".%lu", size % 10);
}

/* Far enough outside every picture, and far enough inside a long. */
static long tenths_of(double value) {
    if (!(fabs(value) < 1e6)) value = value < 0 ? -1e6 : 1e6;
    return lround(10 * value);
}

/* A coordinate, rounded to a tenth of a unit. */
static void add_coordinate(struct cw_chart *chart, double value) {
    add_tenths(&chart->body, tenths_of(value));
}

void cw_chart_begin(struct cw_chart *chart, enum cw_units units) {
    *chart = (struct cw_chart){.y = CW_CHART_BODY, .units = units};
}

void cw_chart_say(struct cw_chart *chart, struct cw_text *text) {
    struct cw_text said = {0};
    cw_units_say(&said, text->bytes ? text->bytes : "", chart->units);
    chart->fails |= text->failed || said.failed;
    cw_text_free(text);
    *text = said;
}

struct cw_axis cw_chart_axis(const struct cw_chart *chart, const char *unit, double low,
                             double high, double from, double to, int about, bool whole) {
    struct cw_unit_shown shown = cw_unit_shown_apart(chart->units, unit);
    return cw_axis_make_in(&shown, low, high, from, to, about, whole);
}

static void add_class(struct cw_chart *chart, const char *kind, size_t style, const char *class_) {
    cw_text_add(&chart->body, " class=\"%s%s%s", kind, *class_ ? " " : "", class_);
    if (style == CW_STYLE_NONE)
        cw_text_add(&chart->body, " kn");
    else
        cw_text_add(&chart->body, " k%zu", style % 8);
    cw_text_add(&chart->body, "\"");
}

static void add_cleaned(struct cw_text *out, const char *string) {
    struct cw_text clean = {0};
    cw_label_shorten(&clean, string, INFINITY, CW_CHART_FONT);
    if (clean.failed) out->failed = true;
    if (clean.bytes) cw_markup_add(out, clean.bytes);
    cw_text_free(&clean);
}

void cw_chart_attribute(struct cw_chart *chart, const char *name, const char *value) {
    cw_text_add(&chart->body, " %s=\"", name);
    add_cleaned(&chart->body, value);
    cw_text_add(&chart->body, "\"");
}

void cw_chart_value(struct cw_chart *chart, const char *value) {
    struct cw_text said = {0};
    cw_text_add(&said, "%s", value);
    cw_chart_say(chart, &said);
    cw_chart_attribute(chart, "data-value", said.bytes ? said.bytes : "");
    cw_text_free(&said);
}

static void add_number(struct cw_chart *chart, const char *name, double value) {
    cw_text_add(&chart->body, " %s=\"", name);
    add_coordinate(chart, value);
    cw_text_add(&chart->body, "\"");
}

void cw_chart_text(struct cw_chart *chart, double x, double y, char anchor, const char *class_,
                   const char *text) {
    cw_text_add(&chart->body, "<text");
    add_number(chart, "x", x);
    add_number(chart, "y", y);
    if (anchor != 's')
        cw_text_add(&chart->body, " text-anchor=\"%s\"", anchor == 'm' ? "middle" : "end");
    if (*class_) cw_text_add(&chart->body, " class=\"%s\"", class_);
    cw_text_add(&chart->body, ">");
    add_cleaned(&chart->body, text);
    cw_text_add(&chart->body, "</text>");
}

void cw_chart_note(struct cw_chart *chart, const char *note) {
    /* Widths are on the safe side; a note may run a little into the margin. */
    double width = 1.08 * (CW_CHART_WIDTH - 24);
    struct cw_text said = {0};
    cw_text_add(&said, "%s", note);
    cw_chart_say(chart, &said);
    const char *text = said.bytes ? said.bytes : "";
    while (*text) {
        /* The longest line that ends before a blank and fits; a word too long is shortened. */
        size_t length = strlen(text), end = strcspn(text, " ");
        struct cw_text line = {0}, shown = {0};
        for (size_t next = end; next < length;) {
            next += 1 + strcspn(text + next + 1, " ");
            cw_text_free(&line);
            cw_text_add_bytes(&line, text, next);
            chart->fails |= line.failed;
            if (line.failed || cw_label_width(line.bytes, CW_CHART_FONT) > width) break;
            end = next;
        }
        cw_text_free(&line);
        cw_text_add_bytes(&line, text, end);
        if (line.bytes) cw_label_shorten(&shown, line.bytes, width, CW_CHART_FONT);
        chart->fails |= line.failed || shown.failed;
        chart->y += CW_CHART_ROW;
        cw_chart_text(chart, 12, chart->y - 5, 's', "mute", shown.bytes ? shown.bytes : "");
        cw_text_free(&line);
        cw_text_free(&shown);
        text += end;
        while (*text == ' ') text++;
    }
    cw_text_free(&said);
}

void cw_chart_line(struct cw_chart *chart, size_t style, const char *class_, double x1, double y1,
                   double x2, double y2) {
    cw_text_add(&chart->body, "<path");
    add_class(chart, "l", style, class_);
    cw_text_add(&chart->body, " d=\"M");
    add_coordinate(chart, x1);
    cw_text_add(&chart->body, " ");
    add_coordinate(chart, y1);
    cw_text_add(&chart->body, "L");
    add_coordinate(chart, x2);
    cw_text_add(&chart->body, " ");
    add_coordinate(chart, y2);
    cw_text_add(&chart->body, "\"/>");
}

void cw_chart_rect(struct cw_chart *chart, size_t style, const char *class_, double x, double y,
                   double width, double height) {
    cw_text_add(&chart->body, "<rect");
    add_class(chart, "a", style, class_);
    add_number(chart, "x", x);
    add_number(chart, "y", y);
    add_number(chart, "width", fmax(0, width));
    add_number(chart, "height", fmax(0, height));
    cw_text_add(&chart->body, "/>");
}

/* Corners of each mark in a square of -1..1, ended by a 9. */
static const signed char corners[7][26] = {
    {99},                                     /* round */
    {-10, -10, 10, -10, 10, 10, -10, 10, 99}, /* square */
    {0, -12, 12, 9, -12, 9, 99},              /* up */
    {0, -14, 14, 0, 0, 14, -14, 0, 99},       /* diamond */
    {0, 12, 12, -9, -12, -9, 99},             /* down */
    {-4, -13, 4,  -13, 4, -4,  13, -4,  13, 4,  4,  4, 4,
     13, -4,  13, -4,  4, -13, 4,  -13, -4, -4, -4, 99},  /* plus */
    {-12, -12, 12, -12, 0, 0, 12, 12, -12, 12, 0, 0, 99}, /* hourglass */
};

void cw_chart_mark(struct cw_chart *chart, size_t style, double x, double y, double size,
                   const char *value) {
    size_t shape = style == CW_STYLE_NONE ? 0 : style % 7;
    if (!isfinite(x) || !isfinite(y)) return;
    cw_text_add(&chart->body, shape ? "<path" : "<circle");
    add_class(chart, "p", style, "");
    if (value) cw_chart_value(chart, value);
    if (!shape) {
        add_number(chart, "cx", x);
        add_number(chart, "cy", y);
        add_number(chart, "r", size);
        cw_text_add(&chart->body, "/>");
        return;
    }
    cw_text_add(&chart->body, " d=\"");
    for (const signed char *c = corners[shape]; *c != 99; c += 2) {
        cw_text_add(&chart->body, c == corners[shape] ? "M" : "L");
        add_coordinate(chart, x + 0.095 * size * c[0]);
        cw_text_add(&chart->body, " ");
        add_coordinate(chart, y + 0.095 * size * c[1]);
    }
    cw_text_add(&chart->body, "z\"/>");
}

static const char *dash_of(size_t style) {
    static const char *const dashes[6] = {NULL, "7 3", "2 2.5", "10 3 2 3", "14 4", "6 2 2 2 2 2"};
    return style == CW_STYLE_NONE ? "3 3" : dashes[style % 6];
}

static void add_dash(struct cw_chart *chart, size_t style) {
    if (dash_of(style)) cw_text_add(&chart->body, " stroke-dasharray=\"%s\"", dash_of(style));
}

void cw_chart_sample(struct cw_chart *chart, size_t style, double x, double y, bool line) {
    if (line) {
        cw_text_add(&chart->body, "<path");
        add_class(chart, "l", style, "");
        add_dash(chart, style);
        cw_text_add(&chart->body, " d=\"M");
        add_coordinate(chart, x);
        cw_text_add(&chart->body, " ");
        add_coordinate(chart, y - 5);
        cw_text_add(&chart->body, "h30\"/>");
    }
    cw_chart_mark(chart, style, line ? x + 15 : x + 5, y - 5, 4.5, NULL);
}

struct cw_box cw_plot_box(const struct cw_plot *plot) {
    const struct cw_axis *x = &plot->x, *y = &plot->y;
    return (struct cw_box){fmin(x->from, x->to), fmin(y->from, y->to), fmax(x->from, x->to),
                           fmax(y->from, y->to)};
}

/* The middle of a figure under a plot: at its tick, but within the picture and clear of the figures
 * left of the plot. */
static double x_figure_at(const struct cw_box *box, double at, bool y_figures, const char *figure) {
    double half = 0.5 * cw_label_width(figure, CW_CHART_FONT);
    if (y_figures) at = fmax(at, box->left - 4 + half);
    return fmin(at, CW_CHART_WIDTH - 2 - half);
}

static void add_means(struct cw_chart *chart, double x, double y, char anchor, const char *means) {
    struct cw_text said = {0};
    cw_units_say_head(&said, means, chart->units);
    cw_chart_text(chart, x, y, anchor, "mute", said.bytes ? said.bytes : "");
    chart->fails |= said.failed;
    cw_text_free(&said);
}

void cw_plot_open(struct cw_chart *chart, const struct cw_plot *plot, bool x_figures,
                  bool y_figures) {
    struct cw_box box = cw_plot_box(plot);
    double ticks[CW_TICKS_MAX];
    cw_text_add(&chart->body, "<g class=\"plot\">\n");
    for (int vertical = 0; vertical < 2; vertical++) {
        const struct cw_axis *axis = vertical ? &plot->y : &plot->x;
        if (vertical && !y_figures) continue;
        size_t n = cw_axis_ticks(axis, ticks);
        for (size_t i = 0; i < n; i++) {
            double at = cw_axis_at(axis, ticks[i]);
            if (vertical)
                cw_chart_line(chart, 0, "grid", box.left, at, box.right, at);
            else
                cw_chart_line(chart, 0, "grid", at, box.top, at, box.bottom);
            if (!vertical && !x_figures) continue;
            struct cw_text figure = {0};
            cw_axis_add_figure(axis, ticks[i], &figure);
            chart->fails |= figure.failed;
            if (figure.bytes && vertical)
                cw_chart_text(chart, box.left - 5, at + 5, 'e', "mute", figure.bytes);
            else if (figure.bytes)
                cw_chart_text(chart, x_figure_at(&box, at, y_figures, figure.bytes),
                              box.bottom + 16, 'm', "mute", figure.bytes);
            cw_text_free(&figure);
        }
    }
    if (y_figures) add_means(chart, 12, box.top - 11, 's', plot->y_means);
    if (x_figures) add_means(chart, box.right, box.bottom + 16 + CW_CHART_ROW, 'e', plot->x_means);
}

void cw_plot_close(struct cw_chart *chart, const struct cw_plot *plot, bool x_figures) {
    chart->y = cw_plot_box(plot).bottom + (x_figures ? 2 * CW_CHART_ROW + 4 : 8);
    cw_text_add(&chart->body, "</g>\n");
}

/* Places of n values, in a new array: x first, then y; NULL and chart->fails. */
static double *places(struct cw_chart *chart, const struct cw_plot *plot, size_t n, const double *x,
                      const double *y) {
    double *place = n ? malloc(2 * n * sizeof *place) : NULL;
    if (!place) {
        chart->fails |= n > 0;
        return NULL;
    }
    for (size_t i = 0; i < n; i++) {
        place[i] = cw_axis_at(&plot->x, x[i]);
        place[n + i] = cw_axis_at(&plot->y, y[i]);
    }
    return place;
}

static bool *thinned(struct cw_chart *chart, size_t n, const double *place) {
    bool *keep = malloc(n * sizeof *keep);
    size_t kept;
    if (keep && cw_thin(n, place, place + n, 0.25, keep, &kept, NULL) == CW_OK) return keep;
    chart->fails = true;
    free(keep);
    return NULL;
}

/* Where the pen stands, in tenths. */
struct pen {
    long x, y;
    bool down;
};

static void pen_go(struct cw_text *text, struct pen *pen, bool draw, const double to[2]) {
    long x = tenths_of(to[0]), y = tenths_of(to[1]);
    if (draw && pen->down && x == pen->x && y == pen->y) return;
    if (!pen->down || !draw) {
        cw_text_add(text, "M");
        add_tenths(text, x);
        cw_text_add(text, " ");
        add_tenths(text, y);
    } else {
        cw_text_add(text, "l");
        add_tenths(text, x - pen->x);
        if (y >= pen->y) cw_text_add(text, " ");
        add_tenths(text, y - pen->y);
    }
    *pen = (struct pen){x, y, true};
}

void cw_plot_line(struct cw_chart *chart, const struct cw_plot *plot, size_t style,
                  const char *class_, size_t n, const double *x, const double *y) {
    double *place = places(chart, plot, n, x, y);
    bool *keep = place ? thinned(chart, n, place) : NULL;
    struct cw_box box = cw_plot_box(plot);
    struct cw_text d = {0};
    struct pen pen = {0};
    double last[2] = {NAN, NAN};
    for (size_t i = 0; keep && i < n; i++) {
        if (!keep[i]) continue;
        double a[2] = {last[0], last[1]}, b[2] = {place[i], place[n + i]};
        last[0] = b[0];
        last[1] = b[1];
        if (!cw_clip(&box, a, b)) continue;
        bool goes_on = pen.down && tenths_of(a[0]) == pen.x && tenths_of(a[1]) == pen.y;
        if (!goes_on) pen_go(&d, &pen, false, a);
        pen_go(&d, &pen, true, b);
    }
    if (d.bytes) {
        cw_text_add(&chart->body, "<path");
        add_class(chart, "l", style, class_);
        add_dash(chart, strstr(class_, "plain") ? 0 : style);
        cw_text_add(&chart->body, " d=\"%s\"/>\n", d.bytes);
    }
    chart->fails |= d.failed;
    cw_text_free(&d);
    free(keep);
    free(place);
}

/* One edge of a band, forwards or backwards, held to the plot's height. */
static void edge(struct cw_chart *chart, const struct cw_plot *plot, size_t n, const double *x,
                 const double *y, bool back, struct cw_text *d, struct pen *pen) {
    double *place = places(chart, plot, n, x, y);
    bool *keep = place ? thinned(chart, n, place) : NULL;
    struct cw_box box = cw_plot_box(plot);
    for (size_t k = 0; keep && k < n; k++) {
        size_t i = back ? n - 1 - k : k;
        if (!keep[i]) continue;
        double to[2] = {fmin(box.right, fmax(box.left, place[i])),
                        fmin(box.bottom, fmax(box.top, place[n + i]))};
        pen_go(d, pen, pen->down, to);
    }
    free(keep);
    free(place);
}

void cw_plot_band(struct cw_chart *chart, const struct cw_plot *plot, size_t style,
                  const char *class_, size_t n, const double *x, const double *low,
                  const double *high) {
    for (size_t first = 0, last; first < n; first = last) {
        for (last = first; last < n && isfinite(x[last] + low[last] + high[last]);) last++;
        if (last == first) {
            last++;
            continue;
        }
        struct cw_text d = {0};
        struct pen pen = {0};
        edge(chart, plot, last - first, x + first, low + first, false, &d, &pen);
        edge(chart, plot, last - first, x + first, high + first, true, &d, &pen);
        if (d.bytes) {
            cw_text_add(&chart->body, "<path");
            add_class(chart, "a", style, class_);
            cw_text_add(&chart->body, " d=\"%sz\"/>\n", d.bytes);
        }
        chart->fails |= d.failed;
        cw_text_free(&d);
    }
}

static void add_id(struct cw_text *out, const struct cw_chart_head *head, const char *part) {
    for (const char *c = head->id_prefix ? head->id_prefix : ""; *c; c++)
        if (strchr("-_", *c) || (*c >= '0' && *c <= '9') || (*c >= 'a' && *c <= 'z') ||
            (*c >= 'A' && *c <= 'Z'))
            cw_text_add_bytes(out, c, 1);
    cw_text_add(out, "%s-%s", head->name, part);
}

static void add_heading(struct cw_text *out, double y, const char *class_, double font,
                        const char *text) {
    struct cw_text shown = {0};
    cw_label_shorten(&shown, text, CW_CHART_WIDTH - 24, font);
    cw_text_add(out, "<text x=\"12\" y=\"%.0f\" class=\"%s\">", y, class_);
    if (shown.bytes) cw_markup_add(out, shown.bytes);
    cw_text_add(out, "</text>");
    if (shown.failed) out->failed = true;
    cw_text_free(&shown);
}

enum cw_status cw_chart_finish(struct cw_chart *chart, const struct cw_chart_head *head,
                               struct cw_text *out, struct cw_error *error) {
    double height = ceil(chart->y + 8), top = head->untitled ? CW_CHART_BODY - 8 : 0;
    cw_text_add(out,
                CW_CHART_BEGINNING "%s\" "
                                   "viewBox=\"0 %.0f %.0f %.0f\" role=\"img\" aria-labelledby=\"",
                head->name, top, CW_CHART_WIDTH, height - top);
    add_id(out, head, "title");
    cw_text_add(out, " ");
    add_id(out, head, "desc");
    cw_text_add(out, "\">\n<title id=\"");
    add_id(out, head, "title");
    cw_text_add(out, "\">");
    add_cleaned(out, head->title);
    if (head->subtitle) {
        cw_text_add(out, ": ");
        add_cleaned(out, head->subtitle);
    }
    cw_text_add(out, "</title>\n<desc id=\"");
    add_id(out, head, "desc");
    cw_text_add(out, "\">");
    struct cw_text description = {0};
    cw_text_add(&description, "%s", head->description);
    cw_chart_say(chart, &description);
    add_cleaned(out, description.bytes ? description.bytes : "");
    cw_text_free(&description);
    cw_text_add(out, "</desc>\n<style>%s</style>\n", cw_chart_sheet());
    cw_text_add(out, "<rect class=\"paper\" y=\"%.0f\" width=\"%.0f\" height=\"%.0f\"/>\n", top,
                CW_CHART_WIDTH, height - top);
    if (!head->untitled) add_heading(out, 21, "strong", CW_CHART_FONT, head->title);
    if (!head->untitled && head->subtitle)
        add_heading(out, 21 + CW_CHART_ROW, "mute", CW_CHART_FONT, head->subtitle);
    cw_text_add(out, "\n");
    if (chart->body.bytes) cw_text_add_bytes(out, chart->body.bytes, chart->body.length);
    cw_text_add(out, "</svg>\n");
    bool whole = !chart->body.failed && !chart->fails && !out->failed;
    cw_text_free(&chart->body);
    return whole ? CW_OK : cw_error_memory(error);
}
