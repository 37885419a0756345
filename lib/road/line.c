#include "road/line.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "stats/spline.h"

/* Points about every spacing_m over a length, at least two. No road is longer than 1e6 of them. */
static enum cw_status allocate(double length_m, double spacing_m, struct cw_line *line,
                               struct cw_error *error) {
    if (!(length_m <= 1e6 * spacing_m))
        return cw_error_set(error, CW_E_DATA, NULL, 0, "a road of %g m is none", length_m);
    size_t n = (size_t)fmax(1.0, round(length_m / spacing_m)) + 1;
    line->n = n;
    line->s_m = malloc(n * sizeof(double));
    line->east_m = malloc(n * sizeof(double));
    line->north_m = malloc(n * sizeof(double));
    if (line->s_m && line->east_m && line->north_m) return CW_OK;
    cw_line_free(line);
    return cw_error_memory(error);
}

void cw_line_free(struct cw_line *line) {
    free(line->s_m);
    free(line->east_m);
    free(line->north_m);
    *line = (struct cw_line){0};
}

static void measure(struct cw_line *line) {
    for (size_t i = 0; i < line->n; i++)
        line->s_m[i] = i == 0 ? 0.0
                              : line->s_m[i - 1] + hypot(line->east_m[i] - line->east_m[i - 1],
                                                         line->north_m[i] - line->north_m[i - 1]);
}

enum cw_status cw_line_smooth(size_t n, const double *at_m, const double *east_m,
                              const double *north_m, double spacing_m, double smooth_m,
                              struct cw_line *line, struct cw_error *error) {
    double length = at_m[n - 1] - at_m[0];
    struct cw_spline east = {0}, north = {0};
    enum cw_status status = allocate(length, spacing_m, line, error);
    if (status != CW_OK) return status;
    status = cw_spline_make(n, at_m, east_m, smooth_m, &east, error);
    if (status == CW_OK) status = cw_spline_make(n, at_m, north_m, smooth_m, &north, error);
    for (size_t k = 0; k < line->n && status == CW_OK; k++) {
        double at = at_m[0] + length * (double)k / (double)(line->n - 1);
        line->east_m[k] = cw_spline_at(&east, at);
        line->north_m[k] = cw_spline_at(&north, at);
    }
    cw_spline_free(&east);
    cw_spline_free(&north);
    if (status == CW_OK) return cw_line_resample(line, spacing_m, error);
    cw_line_free(line);
    return status;
}

enum cw_status cw_line_resample(struct cw_line *line, double spacing_m, struct cw_error *error) {
    measure(line);
    double length = line->s_m[line->n - 1];
    struct cw_line even;
    enum cw_status status = allocate(length, spacing_m, &even, error);
    if (status != CW_OK) return status;
    size_t count = even.n, i = 0;
    for (size_t k = 0; k < count; k++) {
        double s = length * (double)k / (double)(count - 1);
        while (i + 2 < line->n && line->s_m[i + 1] < s) i++;
        double step = line->s_m[i + 1] - line->s_m[i];
        double part = step > 0.0 ? (s - line->s_m[i]) / step : 0.0;
        even.east_m[k] = line->east_m[i] + part * (line->east_m[i + 1] - line->east_m[i]);
        even.north_m[k] = line->north_m[i] + part * (line->north_m[i + 1] - line->north_m[i]);
        even.s_m[k] = s;
    }
    cw_line_free(line);
    *line = even;
    return CW_OK;
}

/* The piece of the line, by the index of its end, that s lies in. */
static size_t piece_at(const struct cw_line *line, double s_m) {
    double length = line->s_m[line->n - 1];
    if (!(length > 0.0) || !(s_m > 0.0)) return 1;
    size_t i = (size_t)fmin(s_m / length * (double)(line->n - 1), (double)(line->n - 2)) + 1;
    while (i > 1 && line->s_m[i - 1] > s_m) i--;
    while (i + 1 < line->n && line->s_m[i] < s_m) i++;
    return i;
}

/* What is looked for on the line: a place, near_m along it but for slack_m, from the piece that
 * ends with point first to the one that ends with last. */
struct sought {
    double east_m, north_m, near_m, slack_m;
    size_t first, last;
};

/* Where a piece is nearest to it: how far off squared, INFINITY of a piece without length. */
static double nearest(const struct cw_line *line, const struct sought *sought, size_t i,
                      double *s_m, double *left_m) {
    double px = line->east_m[i] - line->east_m[i - 1];
    double py = line->north_m[i] - line->north_m[i - 1];
    double length = hypot(px, py);
    if (!(length > 0.0)) return INFINITY;
    double dx = sought->east_m - line->east_m[i - 1], dy = sought->north_m - line->north_m[i - 1];
    double along = (dx * px + dy * py) / length;
    /* Straight on beyond the ends of the line and of the part looked at. */
    if (i > sought->first) along = fmax(along, 0.0);
    if (i < sought->last) along = fmin(along, length);
    double ox = dx - along * px / length, oy = dy - along * py / length;
    double astray = fmax(0.0, fabs(line->s_m[i - 1] + along - sought->near_m) - sought->slack_m);
    *s_m = line->s_m[i - 1] + along;
    *left_m = (px * dy - py * dx) / length;
    return ox * ox + oy * oy + astray * astray;
}

/* How far x is outside of what lies between a and b. */
static double outside(double x, double a, double b) {
    double low = a < b ? a : b, high = a < b ? b : a;
    return x < low ? low - x : x > high ? x - high : 0.0;
}

/* Whether a piece is farther off than that, by the box about it; of the two at the ends, which go
 * on, that is not told. */
static bool is_beyond(const struct cw_line *line, const struct sought *sought, size_t i,
                      double square) {
    static const double rounding = 1e-9;
    if (i == sought->first || i == sought->last) return false;
    double x = outside(sought->east_m, line->east_m[i - 1], line->east_m[i]),
           y = outside(sought->north_m, line->north_m[i - 1], line->north_m[i]);
    return x * x + y * y > square + rounding * (1.0 + square);
}

/* The piece where the place is thought to be is mostly near enough that few others are looked at
 * closely. */
void cw_line_project(const struct cw_line *line, double east_m, double north_m, double near_m,
                     double reach_m, double slack_m, double *s_m, double *left_m) {
    const struct sought sought = {east_m,
                                  north_m,
                                  near_m,
                                  slack_m,
                                  piece_at(line, near_m - reach_m),
                                  piece_at(line, near_m + reach_m)};
    double s, left, best = INFINITY;
    double enough = nearest(line, &sought, piece_at(line, near_m), &s, &left);
    *s_m = *left_m = NAN;
    for (size_t i = sought.first; i <= sought.last; i++) {
        if (is_beyond(line, &sought, i, enough)) continue;
        double square = nearest(line, &sought, i, &s, &left);
        if (square >= best) continue;
        best = square;
        *s_m = s;
        *left_m = left;
    }
}

void cw_line_at(const struct cw_line *line, double s_m, double *east_m, double *north_m) {
    size_t i = piece_at(line, s_m);
    double step = line->s_m[i] - line->s_m[i - 1];
    double part = step > 0.0 ? (s_m - line->s_m[i - 1]) / step : 0.0;
    *east_m = line->east_m[i - 1] + part * (line->east_m[i] - line->east_m[i - 1]);
    *north_m = line->north_m[i - 1] + part * (line->north_m[i] - line->north_m[i - 1]);
}
