#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "picture/chart.h"

static struct cw_error error;

static bool is_round(double step) {
    double digit = step / pow(10, floor(log10(step) + 1e-9));
    return fabs(digit - 1) < 1e-6 || fabs(digit - 2) < 1e-6 || fabs(digit - 5) < 1e-6;
}

START_TEST(ticks_are_round_and_cover_the_range) {
    static const double ranges[][2] = {{0, 1},          {0.372, 0.418},   {-3.25, 12.5},
                                       {1e-9, 3e-9},    {-7e6, 4.5e7},    {498.2, 448.7},
                                       {0, 1013.25},    {-0.183, 0.168},  {9.99, 10.01},
                                       {-1e12, 1.5e12}, {1717.5, 1717.51}};
    for (size_t r = 0; r < sizeof ranges / sizeof *ranges; r++)
        for (int about = 2; about <= 8; about++) {
            double low = fmin(ranges[r][0], ranges[r][1]), high = fmax(ranges[r][0], ranges[r][1]);
            struct cw_axis axis = cw_axis_make(ranges[r][0], ranges[r][1], 300, 20, about, true);
            double ticks[CW_TICKS_MAX];
            size_t n = cw_axis_ticks(&axis, ticks);
            ck_assert_msg(is_round(axis.step), "step %g of %g..%g", axis.step, low, high);
            ck_assert(n >= 2 && n <= (size_t)about + 2);
            double edge = 1e-6 * axis.step;
            ck_assert(axis.low <= low + edge && axis.high >= high - edge);
            ck_assert(fabs(ticks[0] - axis.low) < edge && fabs(ticks[n - 1] - axis.high) < edge);
            for (size_t i = 1; i < n; i++)
                ck_assert_double_eq_tol(ticks[i] - ticks[i - 1], axis.step, edge);
            /* Not more than a tick of empty room on either side. */
            ck_assert(low - axis.low < axis.step && axis.high - high < axis.step);
        }
}
END_TEST

START_TEST(an_axis_may_end_where_the_data_do) {
    struct cw_axis axis = cw_axis_make(3.5, 972, 50, 470, 5, false);
    double ticks[CW_TICKS_MAX];
    size_t n = cw_axis_ticks(&axis, ticks);
    ck_assert_uint_eq(n, 4); /* 200, 400, 600, 800 */
    ck_assert_double_eq(ticks[0], 200);
    ck_assert_double_eq(ticks[3], 800);
    ck_assert_double_eq(cw_axis_at(&axis, 3.5), 50);
    ck_assert_double_eq(cw_axis_at(&axis, 972), 470);
    ck_assert_double_eq_tol(cw_axis_at(&axis, 487.75), 260, 1e-9);
    ck_assert(isnan(cw_axis_at(&axis, NAN)));
}
END_TEST

/* Values are m/s all the way; what is read is km/h, or miles an hour. */
START_TEST(speeds_have_round_ticks_in_kmh) {
    const struct cw_unit_shown kmh = cw_unit_shown(CW_UNITS_METRIC, "m/s");
    struct cw_axis axis = cw_axis_make_in(&kmh, 4.1, 13.6, 100, 0, 5, true);
    double ticks[CW_TICKS_MAX];
    size_t n = cw_axis_ticks(&axis, ticks);
    struct cw_text text = {0};
    ck_assert_uint_eq(n, 5); /* 10, 20 ... 50 km/h */
    for (size_t k = 0; k < n; k++) {
        ck_assert_double_eq_tol(ticks[k], 10 * ((double)k + 1) / 3.6, 1e-9);
        cw_axis_add_figure(&axis, ticks[k], &text);
        cw_text_add(&text, ", ");
    }
    cw_figure_add_kmh_range(&text, -0.5, 2, 1, true);
    ck_assert_str_eq(text.bytes, "10, 20, 30, 40, 50, \xe2\x88\x92"
                                 "1.8 to +7.2 km/h");
    ck_assert_double_eq_tol(cw_axis_at(&axis, 50 / 3.6), 0, 1e-9);
    ck_assert_double_eq_tol(cw_axis_at(&axis, 10 / 3.6), 100, 1e-9);
    cw_text_free(&text);
}
END_TEST

/* A chart in feet: axes, values, notes and the description; what is drawn as it stands is not. The
 * foot is 0.3048 m (international, 1959). */
START_TEST(a_chart_has_the_reader_s_units) {
    struct cw_chart chart;
    struct cw_text svg = {0}, label = {0};
    cw_chart_begin(&chart, CW_UNITS_IMPERIAL);
    struct cw_plot plot = {.x = cw_chart_axis(&chart, "m", 0, 350, 50, 450, 5, false),
                           .y = cw_chart_axis(&chart, "m/s", 2, 21, 200, 100, 5, true),
                           .x_means = "distance along the road, m",
                           .y_means = "wind, km/h (+ headwind)"};
    cw_plot_open(&chart, &plot, true, true);
    cw_chart_mark(&chart, 0, 100, 150, 4, "run 3: \u22121.5 m at 305 m (290 to 320)");
    cw_text_add(&label, "12 m");
    cw_chart_say(&chart, &label);
    ck_assert_str_eq(label.bytes, "39 ft");
    cw_chart_text(&chart, 100, 150, 's', "", "12 m of name");
    cw_plot_close(&chart, &plot, true);
    cw_chart_note(&chart, "Gates at 40 and 960 m.");
    const struct cw_chart_head head = {
        .name = "feet", .title = "Feet", .untitled = true, .description = "From 16.1 km/h on."};
    ck_assert_int_eq(cw_chart_finish(&chart, &head, &svg, NULL), CW_OK);
    static const char *const holds[] = {
        ">distance along the road, ft<",
        ">wind, mph (+ headwind)<",
        ">1000<", /* a tick, of 0 to 1148 ft */
        ">40<",   /* a tick, of 4.5 to 47 mph */
        "data-value=\"run 3: \u22124.9 ft at 1001 ft (951 to 1050)\"",
        ">12 m of name<",
        ">Gates at 131 and 3150 ft.<",
        ">From 10.0 mph on.<"};
    for (size_t i = 0; i < sizeof holds / sizeof *holds; i++)
        ck_assert_msg(strstr(svg.bytes, holds[i]), "%s is not in %s", holds[i], svg.bytes);
    cw_text_free(&label);
    cw_text_free(&svg);
}
END_TEST

/* Figures at whole minutes, hours or days, of any span of time, that there is room for. */
START_TEST(a_clock_has_round_times) {
    static const struct {
        double seconds;
        const char *first;
    } spans[] = {{0, "10:45"},        {900, "10:45"},   {3600, "10:50"},
                 {4 * 3600, "11:00"}, {86400, "12:00"}, {5 * 86400, "2024-05-21"}};
    const double start_s = 1716115500; /* 2024-05-19T10:45:00Z */
    for (size_t i = 0; i < sizeof spans / sizeof *spans; i++) {
        struct cw_axis axis =
            cw_axis_make_clock(start_s, start_s + spans[i].seconds, 54, CW_CHART_RIGHT);
        double ticks[CW_TICKS_MAX];
        struct cw_text text = {0};
        size_t n = cw_axis_ticks(&axis, ticks);
        ck_assert_msg(n >= 1 && n <= 7, "%zu ticks over %g s", n, spans[i].seconds);
        size_t at = ticks[0] < start_s; /* a moment has some time before it */
        cw_axis_add_figure(&axis, ticks[at], &text);
        ck_assert_str_eq(text.bytes, spans[i].first);
        ck_assert(cw_axis_has_dates(&axis) == (spans[i].seconds > 86400));
        cw_text_free(&text);
    }
}
END_TEST

START_TEST(any_range_makes_an_axis) {
    static const double ranges[][2] = {{5, 5},
                                       {0, 0},
                                       {NAN, 1},
                                       {1, INFINITY},
                                       {-1e308, 1e308},
                                       {1e300, 1e300},
                                       {INFINITY, -INFINITY},
                                       {1e-300, 2e-300},
                                       {1e9, 1e9 + 1e-3}};
    for (size_t r = 0; r < sizeof ranges / sizeof *ranges; r++)
        for (int whole = 0; whole < 2; whole++) {
            struct cw_axis axis = cw_axis_make(ranges[r][0], ranges[r][1], 0, 100, 5, whole != 0);
            double ticks[CW_TICKS_MAX];
            ck_assert(isfinite(axis.low) && isfinite(axis.high) && axis.low < axis.high);
            ck_assert(axis.step > 0 && isfinite(axis.step));
            ck_assert_uint_ge(cw_axis_ticks(&axis, ticks), 1);
        }
}
END_TEST

static const char *figure(double value, int decimals, bool signed_) {
    static char shown[64];
    struct cw_text text = {0};
    cw_figure_add(&text, value, decimals, signed_);
    snprintf(shown, sizeof shown, "%s", text.bytes);
    cw_text_free(&text);
    return shown;
}

START_TEST(figures_are_what_people_read) {
    ck_assert_str_eq(figure(0.4, 2, false), "0.40");
    ck_assert_str_eq(figure(-12.345, 1, false), "\xe2\x88\x92"
                                                "12.3");
    ck_assert_str_eq(figure(-0.0004, 2, true), "0.00");
    ck_assert_str_eq(figure(0.996, 2, true), "+1.00");
    ck_assert_str_eq(figure(1013.25, 0, false), "1013");
    ck_assert_str_eq(figure(NAN, 2, false), "\xe2\x80\x93");
    ck_assert_str_eq(figure(-INFINITY, 2, true), "\xe2\x80\x93");
    ck_assert_str_eq(figure(3.2e17, 2, true), "+3e17");
}
END_TEST

START_TEST(thinning_keeps_ends_extremes_and_shape) {
    enum { N = 30000 };
    double *x = malloc(N * sizeof *x), *y = malloc(N * sizeof *y);
    bool *keep = malloc(N * sizeof *keep);
    size_t kept, low = 0, high = 0;
    for (size_t i = 0; i < N; i++) {
        x[i] = 400.0 * (double)i / N;
        y[i] = 100 + 40 * sin(x[i] / 30) + 3 * sin(x[i] / 0.37);
        if (i == 17017) y[i] = 190; /* a spike of one point */
        if (y[i] < y[low]) low = i;
        if (y[i] > y[high]) high = i;
    }
    ck_assert_int_eq(cw_thin(N, x, y, 0.25, keep, &kept, &error), CW_OK);
    ck_assert_uint_le(kept, CW_THIN_MOST + 3);
    ck_assert(keep[0] && keep[N - 1] && keep[low] && keep[high] && high == 17017);

    /* A smooth line keeps within the tolerance of what it was, with few points. */
    enum { M = 1000 };
    for (size_t i = 0; i < M; i++) {
        x[i] = 0.4 * (double)i;
        y[i] = 60 * sin(x[i] / 60);
    }
    ck_assert_int_eq(cw_thin(M, x, y, 0.25, keep, &kept, &error), CW_OK);
    ck_assert_uint_lt(kept, 100);
    for (size_t i = 0, a = 0; i < M; i++) {
        if (keep[i]) a = i;
        size_t b = a + 1;
        while (b < M - 1 && !keep[b]) b++;
        if (b >= M) break;
        double share = (x[i] - x[a]) / (x[b] - x[a]);
        ck_assert_double_le(fabs(y[a] + share * (y[b] - y[a]) - y[i]), 0.4);
    }
    free(x);
    free(y);
    free(keep);
}
END_TEST

START_TEST(a_straight_line_is_two_points_and_a_gap_stays_a_gap) {
    double x[] = {0, 1, 2, 3, 4, 5, 6, 7, 8}, y[] = {0, 1, 2, 3, NAN, NAN, 6, 7, 8};
    bool keep[9];
    size_t kept;
    ck_assert_int_eq(cw_thin(9, x, y, 0.25, keep, &kept, &error), CW_OK);
    static const bool expected[] = {1, 0, 0, 1, 1, 1, 1, 0, 1};
    for (int i = 0; i < 9; i++) ck_assert_int_eq(keep[i], expected[i]);
    ck_assert_int_eq(cw_thin(0, x, y, 0.25, keep, &kept, &error), CW_OK);
    ck_assert_uint_eq(kept, 0);
    for (int i = 0; i < 9; i++) x[i] = y[i] = NAN;
    ck_assert_int_eq(cw_thin(9, x, y, 0.25, keep, &kept, &error), CW_OK);
    ck_assert_uint_eq(kept, 0);
}
END_TEST

START_TEST(segments_are_cut_to_the_box) {
    struct cw_box box = {10, 20, 110, 70};
    double a[2] = {0, 45}, b[2] = {200, 45};
    ck_assert(cw_clip(&box, a, b));
    ck_assert_double_eq_tol(a[0], 10, 1e-9);
    ck_assert_double_eq_tol(b[0], 110, 1e-9);
    ck_assert(a[1] == 45 && b[1] == 45);
    double c[2] = {60, 45}, d[2] = {60, 95};
    ck_assert(cw_clip(&box, c, d));
    ck_assert(c[1] == 45 && d[1] == 70);
    double e[2] = {0, 0}, f[2] = {200, 10};
    ck_assert(!cw_clip(&box, e, f));
    double g[2] = {0, 62}, h[2] = {40, 102}; /* passes the corner by */
    ck_assert(!cw_clip(&box, g, h));
    double i[2] = {NAN, 30}, j[2] = {50, 30};
    ck_assert(!cw_clip(&box, i, j));
    double k[2] = {50, 30}, l[2] = {50, 30}; /* a point */
    ck_assert(cw_clip(&box, k, l));
}
END_TEST

/* A cheap generator, the same everywhere. */
static double next(unsigned long long *state) {
    *state = *state * 6364136223846793005ULL + 1442695040888963407ULL;
    return (double)(*state >> 11) / 9007199254740992.0;
}

START_TEST(stacked_labels_never_overlap) {
    unsigned long long state = 5;
    for (int round = 0; round < 200; round++) {
        double wanted[40], place[40], height = 5 + 15 * next(&state), low = 20, high = 320;
        size_t n = 1 + (size_t)(39 * next(&state)), room = (size_t)((high - low) / height), put = 0;
        double bunch = next(&state);
        for (size_t i = 0; i < n; i++)
            wanted[i] = low + (high - low) * (bunch * next(&state) + (1 - bunch) * 0.9);
        ck_assert_int_eq(cw_labels_stack(n, wanted, height, low, high, place, &error), CW_OK);
        for (size_t i = 0; i < n; i++) {
            if (isnan(place[i])) {
                ck_assert_uint_ge(i, room); /* only the last ones are left out */
                continue;
            }
            put++;
            ck_assert_double_ge(place[i] - 0.5 * height, low - 1e-9);
            ck_assert_double_le(place[i] + 0.5 * height, high + 1e-9);
            for (size_t j = 0; j < i; j++) {
                if (isnan(place[j])) continue;
                ck_assert_double_ge(fabs(place[i] - place[j]), height - 1e-9);
                if (wanted[i] != wanted[j]) /* in order, so that leaders do not cross */
                    ck_assert((place[i] < place[j]) == (wanted[i] < wanted[j]));
            }
        }
        ck_assert_uint_eq(put, n < room ? n : room);
    }
}
END_TEST

START_TEST(stacked_labels_move_as_little_as_can_be) {
    double wanted[] = {50, 52, 200}, place[3];
    ck_assert_int_eq(cw_labels_stack(3, wanted, 20, 0, 300, place, &error), CW_OK);
    ck_assert_double_eq_tol(place[0], 41, 1e-9); /* both give way by the same */
    ck_assert_double_eq_tol(place[1], 61, 1e-9);
    ck_assert_double_eq_tol(place[2], 200, 1e-9);
    double edge[] = {298, 299, NAN};
    ck_assert_int_eq(cw_labels_stack(3, edge, 20, 0, 300, place, &error), CW_OK);
    ck_assert_double_eq_tol(place[0], 270, 1e-9);
    ck_assert_double_eq_tol(place[1], 290, 1e-9);
    ck_assert(isnan(place[2]));
}
END_TEST

START_TEST(placed_labels_never_overlap) {
    unsigned long long state = 11;
    struct cw_labels labels = {.within = {0, 0, 480, 200}};
    struct cw_box put[CW_LABELS_MOST];
    size_t n = 0;
    for (int i = 0; i < 100; i++) {
        struct cw_box box;
        if (!cw_labels_place(&labels, 480 * next(&state), 200 * next(&state), 60, 18, 5, &box))
            continue;
        ck_assert(box.left >= 0 && box.right <= 480 && box.top >= 0 && box.bottom <= 200);
        for (size_t j = 0; j < n; j++)
            ck_assert(box.left >= put[j].right || put[j].left >= box.right ||
                      box.top >= put[j].bottom || put[j].top >= box.bottom);
        put[n++] = box;
    }
    ck_assert_uint_gt(n, 20);
}
END_TEST

START_TEST(names_are_shortened_and_cleaned) {
    struct cw_text text = {0};
    cw_label_shorten(&text, "long-sleeved wool jersey and cap", 100, 15);
    ck_assert_str_eq(text.bytes + text.length - 3, "\xe2\x80\xa6");
    ck_assert_double_le(cw_label_width(text.bytes, 15), 100 + 15);
    ck_assert_int_eq(strncmp(text.bytes, "long-s", 6), 0);
    cw_text_free(&text);
    cw_label_shorten(&text, "cape", 100, 15);
    ck_assert_str_eq(text.bytes, "cape");
    cw_text_free(&text);
    cw_label_shorten(&text, "a\x01\x1b[31mb\nc\xc2\x85\xe2\x80\xae\xff\xef\xbf\xbf", INFINITY, 15);
    ck_assert_str_eq(text.bytes, "a[31mb c\xef\xbf\xbd");
    cw_text_free(&text);
    cw_label_shorten(&text, "\xe8\x85\xbf\xe5\xa5\x97\xe8\x85\xbf\xe5\xa5\x97", 40, 15);
    ck_assert_str_eq(text.bytes, "\xe8\x85\xbf\xe2\x80\xa6"); /* cut between characters */
    cw_text_free(&text);
    cw_label_shorten(&text, NULL, 40, 15);
    ck_assert_ptr_null(text.bytes);
}
END_TEST

START_TEST(text_and_attributes_are_escaped) {
    static const char name[] = "</text><script>\"&'\x07";
    struct cw_chart chart;
    struct cw_text out = {0};
    cw_chart_begin(&chart, CW_UNITS_METRIC);
    cw_chart_text(&chart, 1, 2.25, 'm', "", name);
    cw_text_add(&chart.body, "<g");
    cw_chart_attribute(&chart, "data-value", name);
    cw_text_add(&chart.body, "/>");
    struct cw_chart_head head = {
        .id_prefix = "p\"1 -", .name = "try", .title = name, .subtitle = name, .description = name};
    ck_assert_int_eq(cw_chart_finish(&chart, &head, &out, &error), CW_OK);
    ck_assert_ptr_null(strstr(out.bytes, "<script"));
    ck_assert_ptr_nonnull(strstr(out.bytes, "<text x=\"1\" y=\"2.3\" text-anchor=\"middle\">"
                                            "&lt;/text&gt;&lt;script&gt;"));
    ck_assert_ptr_nonnull(strstr(out.bytes, "aria-labelledby=\"p1-try-title p1-try-desc\""));
    ck_assert_ptr_nonnull(strstr(out.bytes, "id=\"p1-try-title\""));
    ck_assert_ptr_null(strchr(out.bytes, '\x07'));
    cw_text_free(&out);
}
END_TEST

START_TEST(lines_are_cut_to_their_plot) {
    struct cw_chart chart;
    struct cw_text out = {0};
    struct cw_plot plot = {.x = cw_axis_make(0, 10, 0, 100, 5, false),
                           .y = cw_axis_make(0, 10, 200, 100, 5, false),
                           .x_means = "x, m",
                           .y_means = "y, m"};
    double x[] = {0, 5, 10}, y[] = {5, 1e9, 5}, nothing[] = {NAN, NAN, NAN};
    cw_chart_begin(&chart, CW_UNITS_METRIC);
    cw_plot_line(&chart, &plot, 0, "", 3, x, y);
    ck_assert_str_eq(chart.body.bytes, "<path class=\"l k0\" d=\"M0 150l0-50M100 100l0 50\"/>\n");
    cw_text_free(&chart.body);
    cw_plot_line(&chart, &plot, 0, "", 3, x, nothing);
    cw_plot_band(&chart, &plot, 0, "", 3, x, nothing, nothing);
    cw_plot_line(&chart, &plot, 0, "", 0, x, y);
    cw_chart_mark(&chart, 1, NAN, 3, 4, NULL);
    ck_assert_ptr_null(chart.body.bytes);
    struct cw_chart_head head = {.name = "try", .title = "t", .description = "d"};
    ck_assert_int_eq(cw_chart_finish(&chart, &head, &out, &error), CW_OK);
    cw_text_free(&out);
}
END_TEST

/* sRGB to linear light: IEC 61966-2-1. */
static void linear_of(const char *hex, double rgb[3]) {
    for (int i = 0; i < 3; i++) {
        char two[] = {hex[2 * i], hex[2 * i + 1], 0};
        double c = (double)strtol(two, NULL, 16) / 255;
        rgb[i] = c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
    }
}

/* Relative luminance and contrast ratio: WCAG 2.1, definitions. */
static double contrast(const char *a, const char *b) {
    double x[3], y[3];
    linear_of(a, x);
    linear_of(b, y);
    double p = 0.2126 * x[0] + 0.7152 * x[1] + 0.0722 * x[2];
    double q = 0.2126 * y[0] + 0.7152 * y[1] + 0.0722 * y[2];
    return (fmax(p, q) + 0.05) / (fmin(p, q) + 0.05);
}

struct lab {
    double l, a, b;
};

static double cube_root(double t) {
    return t > 216.0 / 24389 ? cbrt(t) : (24389.0 / 27 * t + 16) / 116;
}

/* CIE 1976 L*a*b*, white D65. */
static struct lab lab_of(const double rgb[3]) {
    double x = 0.4124564 * rgb[0] + 0.3575761 * rgb[1] + 0.1804375 * rgb[2];
    double y = 0.2126729 * rgb[0] + 0.7151522 * rgb[1] + 0.0721750 * rgb[2];
    double z = 0.0193339 * rgb[0] + 0.1191920 * rgb[1] + 0.9503041 * rgb[2];
    double fx = cube_root(x / 0.95047), fy = cube_root(y), fz = cube_root(z / 1.08883);
    return (struct lab){116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)};
}

static const double degree = 3.14159265358979323846 / 180;

static double hue(double a, double b) {
    double h = atan2(b, a) / degree;
    return h < 0 ? h + 360 : h;
}

/* CIEDE2000: Sharma, Wu & Dalal 2005, Color Res. Appl. 30:21, eqs. 2 to 22. */
static double difference(struct lab p, struct lab q) {
    double mean_c = 0.5 * (hypot(p.a, p.b) + hypot(q.a, q.b));
    double g = 0.5 * (1 - sqrt(pow(mean_c, 7) / (pow(mean_c, 7) + pow(25, 7))));
    double a1 = (1 + g) * p.a, a2 = (1 + g) * q.a;
    double c1 = hypot(a1, p.b), c2 = hypot(a2, q.b), h1 = hue(a1, p.b), h2 = hue(a2, q.b);
    double dh = h2 - h1, mean_h = h1 + h2;
    if (c1 * c2 > 0) {
        if (dh > 180) dh -= 360;
        if (dh < -180) dh += 360;
        if (fabs(h1 - h2) > 180) mean_h += mean_h < 360 ? 360 : -360;
        mean_h /= 2;
    } else {
        dh = 0;
    }
    double dl = q.l - p.l, dc = c2 - c1, d_h = 2 * sqrt(c1 * c2) * sin(0.5 * dh * degree);
    double l = 0.5 * (p.l + q.l), c = 0.5 * (c1 + c2);
    double t = 1 - 0.17 * cos((mean_h - 30) * degree) + 0.24 * cos(2 * mean_h * degree) +
               0.32 * cos((3 * mean_h + 6) * degree) - 0.20 * cos((4 * mean_h - 63) * degree);
    double turn = 30 * exp(-pow((mean_h - 275) / 25, 2));
    double rc = 2 * sqrt(pow(c, 7) / (pow(c, 7) + pow(25, 7)));
    double sl = 1 + 0.015 * pow(l - 50, 2) / sqrt(20 + pow(l - 50, 2));
    double sc = 1 + 0.045 * c, sh = 1 + 0.015 * c * t, rt = -sin(2 * turn * degree) * rc;
    return sqrt(pow(dl / sl, 2) + pow(dc / sc, 2) + pow(d_h / sh, 2) + rt * (dc / sc) * (d_h / sh));
}

/* As seen with full colour vision, and with each kind of dichromacy: Machado, Oliveira & Fernandes
 * 2009, IEEE TVCG 15:1291, severity 1; the matrices as read in the data of the colour-science
 * library (colour/blindness/datasets/machado2010.py). */
static const double visions[4][3][3] = {
    {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
    {{0.152286, 1.052583, -0.204868},
     {0.114503, 0.786281, 0.099216},
     {-0.003882, -0.048116, 1.051998}},
    {{0.367322, 0.860646, -0.227968},
     {0.280085, 0.672501, 0.047413},
     {-0.011820, 0.042940, 0.968881}},
    {{1.255528, -0.076749, -0.178779},
     {-0.078411, 0.930809, 0.147602},
     {0.004733, 0.691367, 0.303900}},
};

static struct lab seen(const char *hex, int vision) {
    double rgb[3], shown[3];
    linear_of(hex, rgb);
    for (int i = 0; i < 3; i++) {
        shown[i] = 0;
        for (int j = 0; j < 3; j++) shown[i] += visions[vision][i][j] * rgb[j];
        shown[i] = fmin(1, fmax(0, shown[i]));
    }
    return lab_of(shown);
}

/* The setups' colours lie apart for all eyes: any two by 9, the first two by 30. (1 can just be
 * told; marks and dashes differ besides.) */
START_TEST(colours_lie_apart_for_all_eyes) {
    struct lab p = {50, 2.6772, -79.7751}, q = {50, 0, -82.7485};
    ck_assert_double_eq_tol(difference(p, q), 2.0425, 5e-5); /* Sharma et al., table 1, pair 1 */
    struct lab r = {50, 2.5, 0}, u = {73, 25, -18};
    ck_assert_double_eq_tol(difference(r, u), 27.1492, 5e-5); /* pair 17 */
    const char *sheet = cw_chart_sheet();
    for (int scheme = 0; scheme < 2; scheme++) {
        const char *colour[8];
        for (int c = 0; c < 8; c++) {
            char name[32];
            snprintf(name, sizeof name, "var(--cw-%d,#", c);
            colour[c] = strstr(sheet, name);
            ck_assert_ptr_nonnull(colour[c]);
            colour[c] += strlen(name);
        }
        for (int vision = 0; vision < 4; vision++)
            for (int i = 1; i < 8; i++)
                for (int j = 0; j < i; j++) {
                    double apart = difference(seen(colour[i], vision), seen(colour[j], vision));
                    ck_assert_msg(apart > (i == 1 ? 30 : 9), "%d and %d, vision %d: %.1f", i, j,
                                  vision, apart);
                }
        sheet = strstr(sheet, "prefers-color-scheme:dark");
        ck_assert_ptr_nonnull(sheet);
    }
}
END_TEST

/* WCAG 2.1, 1.4.3 (text 4.5) and 1.4.11 (graphics 3), on the papers of both schemes. */
START_TEST(colours_stand_out_from_both_papers) {
    static const struct {
        const char *name;
        double least;
    } colours[] = {{"ink", 7}, {"mute", 4.5}, {"none", 3}, {"0", 3}, {"1", 3}, {"2", 3},
                   {"3", 3},   {"4", 3},      {"5", 3},    {"6", 3}, {"7", 3}};
    ck_assert_double_eq_tol(contrast("ffffff", "767676"), 4.54, 0.005); /* a known pair */
    const char *sheet = cw_chart_sheet();
    for (int scheme = 0; scheme < 2; scheme++) {
        const char *paper = strstr(sheet, "var(--cw-paper,#");
        ck_assert_ptr_nonnull(paper);
        for (size_t c = 0; c < sizeof colours / sizeof *colours; c++) {
            char name[32];
            snprintf(name, sizeof name, "var(--cw-%s,#", colours[c].name);
            const char *at = strstr(sheet, name);
            ck_assert_ptr_nonnull(at);
            double ratio = contrast(at + strlen(name), paper + strlen("var(--cw-paper,#"));
            ck_assert_msg(ratio >= colours[c].least, "%s in scheme %d: %.2f", colours[c].name,
                          scheme, ratio);
        }
        sheet = strstr(sheet, "prefers-color-scheme:dark");
        ck_assert_ptr_nonnull(sheet);
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_chart");
    TCase *tests = tcase_create("chart");
    tcase_add_test(tests, ticks_are_round_and_cover_the_range);
    tcase_add_test(tests, an_axis_may_end_where_the_data_do);
    tcase_add_test(tests, speeds_have_round_ticks_in_kmh);
    tcase_add_test(tests, a_chart_has_the_reader_s_units);
    tcase_add_test(tests, a_clock_has_round_times);
    tcase_add_test(tests, any_range_makes_an_axis);
    tcase_add_test(tests, figures_are_what_people_read);
    tcase_add_test(tests, thinning_keeps_ends_extremes_and_shape);
    tcase_add_test(tests, a_straight_line_is_two_points_and_a_gap_stays_a_gap);
    tcase_add_test(tests, segments_are_cut_to_the_box);
    tcase_add_test(tests, stacked_labels_never_overlap);
    tcase_add_test(tests, stacked_labels_move_as_little_as_can_be);
    tcase_add_test(tests, placed_labels_never_overlap);
    tcase_add_test(tests, names_are_shortened_and_cleaned);
    tcase_add_test(tests, text_and_attributes_are_escaped);
    tcase_add_test(tests, lines_are_cut_to_their_plot);
    tcase_add_test(tests, colours_stand_out_from_both_papers);
    tcase_add_test(tests, colours_lie_apart_for_all_eyes);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
