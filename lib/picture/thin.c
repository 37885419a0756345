#include "picture/thin.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Longer lines are first brought down to the lowest and highest of so many parts, to bound the
 * time that the splitting takes. */
#define PARTS 2000

static double off_line(double x, double y, double ax, double ay, double bx, double by) {
    double dx = bx - ax, dy = by - ay, length2 = dx * dx + dy * dy;
    double t = length2 > 0 ? ((x - ax) * dx + (y - ay) * dy) / length2 : 0;
    t = t < 0 ? 0 : t > 1 ? 1 : t;
    return hypot(x - ax - t * dx, y - ay - t * dy);
}

struct span {
    size_t first, last;
};

/* Splits first..last, both kept, until every point in `use` is within tolerance. */
static void split(struct span whole, const double *x, const double *y, const bool *use,
                  double tolerance, bool *keep, struct span *stack) {
    size_t depth = 0;
    stack[depth++] = whole;
    while (depth) {
        struct span s = stack[--depth];
        double worst = tolerance;
        size_t at = s.first;
        for (size_t i = s.first + 1; i < s.last; i++) {
            if (!use[i]) continue;
            double off = off_line(x[i], y[i], x[s.first], y[s.first], x[s.last], y[s.last]);
            if (off > worst) {
                worst = off;
                at = i;
            }
        }
        if (at == s.first) continue;
        keep[at] = true;
        stack[depth++] = (struct span){s.first, at};
        stack[depth++] = (struct span){at, s.last};
    }
}

static bool whole_point(const double *x, const double *y, size_t i) {
    return isfinite(x[i]) && isfinite(y[i]);
}

/* What is kept whatever the tolerance: breaks, ends of pieces, extremes. */
static size_t keep_corners(size_t n, const double *x, const double *y, bool *keep) {
    size_t extreme[4], pieces = 0;
    bool any = false;
    memset(keep, 0, n * sizeof *keep);
    for (size_t i = 0; i < n; i++) {
        bool whole = whole_point(x, y, i);
        bool before = i > 0 && whole_point(x, y, i - 1);
        bool after = i + 1 < n && whole_point(x, y, i + 1);
        if (!whole) {
            keep[i] = before || after; /* one break is enough */
            continue;
        }
        if (!before || !after) keep[i] = true;
        pieces += !before;
        if (!any) extreme[0] = extreme[1] = extreme[2] = extreme[3] = i;
        any = true;
        if (x[i] < x[extreme[0]]) extreme[0] = i;
        if (x[i] > x[extreme[1]]) extreme[1] = i;
        if (y[i] < y[extreme[2]]) extreme[2] = i;
        if (y[i] > y[extreme[3]]) extreme[3] = i;
    }
    for (int k = 0; any && k < 4; k++) keep[extreme[k]] = true;
    return pieces;
}

static void use_extremes_of_parts(size_t n, const double *y, bool *use) {
    memset(use, 0, n * sizeof *use);
    for (size_t p = 0; p < PARTS; p++) {
        size_t first = n / PARTS * p + n % PARTS * p / PARTS;
        size_t last = n / PARTS * (p + 1) + n % PARTS * (p + 1) / PARTS;
        size_t low = first, high = first;
        for (size_t i = first; i < last; i++) {
            if (y[i] < y[low] || isnan(y[low])) low = i;
            if (y[i] > y[high] || isnan(y[high])) high = i;
        }
        use[low] = use[high] = true;
    }
}

enum cw_status cw_thin(size_t n, const double *x, const double *y, double tolerance, bool *keep,
                       size_t *kept, struct cw_error *error) {
    *kept = 0;
    if (!n) return CW_OK;
    bool *use = malloc(2 * n * sizeof *use);
    struct span *stack = malloc((n + 1) * sizeof *stack);
    enum cw_status status = use && stack ? CW_OK : cw_error_memory(error);
    if (status < 0) goto cleanup;
    bool *corner = use + n;
    size_t pieces = keep_corners(n, x, y, corner);
    memset(use, 1, n * sizeof *use);
    if (n > 2 * PARTS) use_extremes_of_parts(n, y, use);
    if (!(tolerance > 0)) tolerance = 1e-3;
    do {
        memcpy(keep, corner, n * sizeof *keep);
        size_t before = n;
        for (size_t i = 0; i < n; i++) {
            if (!whole_point(x, y, i)) {
                before = n;
                continue;
            }
            if (!corner[i]) continue;
            if (before < n) split((struct span){before, i}, x, y, use, tolerance, keep, stack);
            before = i;
        }
        *kept = 0;
        for (size_t i = 0; i < n; i++) *kept += keep[i];
        tolerance *= 1.5;
    } while (*kept > CW_THIN_MOST + 3 * pieces && tolerance < 1e6);
cleanup:
    free(use);
    free(stack);
    return status;
}

bool cw_clip(const struct cw_box *box, double a[2], double b[2]) {
    double start[2] = {a[0], a[1]}, d[2] = {b[0] - a[0], b[1] - a[1]};
    const double low[2] = {box->left, box->top}, high[2] = {box->right, box->bottom};
    double t0 = 0, t1 = 1;
    if (!isfinite(d[0]) || !isfinite(d[1])) return false;
    for (int k = 0; k < 2; k++) {
        if (d[k] == 0) {
            if (start[k] < low[k] || start[k] > high[k]) return false;
            continue;
        }
        double in = ((d[k] > 0 ? low[k] : high[k]) - start[k]) / d[k];
        double out = ((d[k] > 0 ? high[k] : low[k]) - start[k]) / d[k];
        if (in > t0) t0 = in;
        if (out < t1) t1 = out;
    }
    if (t0 > t1) return false;
    for (int k = 0; k < 2; k++) {
        if (t1 < 1) b[k] = start[k] + t1 * d[k];
        if (t0 > 0) a[k] = start[k] + t0 * d[k];
    }
    return true;
}
