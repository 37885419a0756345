#include "runs/edge.h"

#include <math.h>

/* What is looked at on either side, where samples are far apart so many of them, and the least that
 * it takes. */
#define INSIDE_S 14.0
#define BEYOND_S 6.0
#define LEAST_INSIDE 4
#define LEAST_BEYOND 2
#define LEAST_SAMPLES 6
/* The bend may be off by so many samples at least, where these are far apart. */
#define LEAST_PLACES 2
/* A standing bicycle bends nothing. */
#define LEAST_SPEED_MS 0.7
/* A place fits nearly as well where its sum of squares is above the least by this part, over the
 * number of samples: four standard errors, as errors of neighbours go together. */
#define NEARLY 8.0
/* But no farther inside than this. */
#define MOST_INSIDE_S 1.5

/* The sum of squares that is left when even_m over [first, last] is two straight lines that meet at
 * a sample: a + b t on the coast's side, c (t or s) more beyond it. */
static double squares_left(const struct cw_edge *e, size_t first, size_t last, size_t bend,
                           double *beyond) {
    double n = (double)(last - first + 1), t1 = 0, x1 = 0, y1 = 0;
    double tt = 0, tx = 0, ty = 0, xx = 0, xy = 0, yy = 0;
    for (size_t i = first; i <= last; i++) {
        double t = e->time_s[i] - e->time_s[first], y = e->even_m[i] - e->even_m[first], x = 0.0;
        if (e->end ? i > bend : i < bend)
            x = fabs(e->braking ? e->distance_m[i] - e->distance_m[bend]
                                : e->time_s[i] - e->time_s[bend]);
        t1 += t;
        x1 += x;
        y1 += y;
        tt += t * t;
        tx += t * x;
        ty += t * y;
        xx += x * x;
        xy += x * y;
        yy += y * y;
    }
    tt -= t1 * t1 / n;
    tx -= t1 * x1 / n;
    ty -= t1 * y1 / n;
    xx -= x1 * x1 / n;
    xy -= x1 * y1 / n;
    yy -= y1 * y1 / n;
    xx -= tx * tx / tt;
    xy -= tx * ty / tt;
    yy -= ty * ty / tt;
    *beyond = xx > 1e-9 * tt ? xy / xx : 0.0;
    return fmax(yy - *beyond * xy, 0.0);
}

size_t cw_edge_place(const struct cw_edge *e, bool *found) {
    const double *t = e->time_s;
    size_t first = e->at, last = first, near = first, far = first;
    size_t low = e->end ? e->inner : e->outer, high = e->end ? e->outer : e->inner;
    double before = e->end ? INSIDE_S : BEYOND_S, after = e->end ? BEYOND_S : INSIDE_S;
    size_t least_before = e->end ? LEAST_INSIDE : LEAST_BEYOND;
    size_t least_after = e->end ? LEAST_BEYOND : LEAST_INSIDE;
    while (first > low && (t[e->at] - t[first - 1] <= before || e->at - first < least_before) &&
           e->speed_ms[first - 1] >= LEAST_SPEED_MS && isfinite(e->even_m[first - 1]))
        first--;
    while (last < high && (t[last + 1] - t[e->at] <= after || last - e->at < least_after) &&
           e->speed_ms[last + 1] >= LEAST_SPEED_MS && isfinite(e->even_m[last + 1]))
        last++;
    while (near > first + 1 &&
           (t[e->at] - t[near - 1] <= e->reach_s || e->at - near < LEAST_PLACES))
        near--;
    while (far + 2 <= last && (t[far + 1] - t[e->at] <= e->reach_s || far - e->at < LEAST_PLACES))
        far++;
    *found = false;
    if (last - first + 1 < LEAST_SAMPLES) return e->at;
    /* Braking loses, pedalling gains; on the way out of a start it is the other way round. */
    double sign = (e->braking ? -1.0 : 1.0) * (e->end ? 1.0 : -1.0), least = INFINITY, beyond;
    size_t best = e->at;
    for (size_t i = near; i <= far; i++) {
        double squares = squares_left(e, first, last, i, &beyond);
        if (squares >= least || sign * beyond <= 0.0) continue;
        least = squares;
        best = i;
    }
    if (!isfinite(least)) return e->at;
    *found = true;
    double enough = (least + 1e-9) * (1.0 + NEARLY / (double)(last - first + 1));
    for (size_t k = 0; k <= far - near; k++) {
        size_t i = e->end ? near + k : far - k;
        if (fabs(t[i] - t[best]) > MOST_INSIDE_S) continue;
        if (squares_left(e, first, last, i, &beyond) <= enough && sign * beyond > 0.0) return i;
    }
    return best;
}
