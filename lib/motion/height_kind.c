#include "motion/height_kind.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "stats/robust.h"

/* Where a map's heights differ from pass to pass it is by the recorded positions' errors times the
 * slope, some centimetres; a pressure sensor's drift in minutes by more. On made-up rides a map's
 * median was 0.03 to 0.05 m, a steady sensor's 0.24; on ridden ones 0.03 to 0.05 and 0.5 to 10 m.
 */
static const double map_apart_m = 0.12;
/* Coarser steps than this hide whether heights agree to centimetres. */
static const double map_step_m = 0.3;
/* Drift within a minute: a sensor's 0.3 m to 1.5 (0.6 on ridden days), a receiver's 2.1 to 3.
 * Between these bounds it may be either. */
static const double sensor_drift_m = 1.3, receiver_drift_m = 1.8;
static const size_t least_n = 60;

static const double cell_m = 10, beside_m = 5, least_speed_ms = 1.5;
static const double visit_s = 60, minute_low_s = 45, minute_high_s = 75;

/* A sample with place and height. */
struct point {
    size_t recording;
    double time_s, east_m, north_m, height_m;
    bool joined; /* to the point before: the same ride, no gap */
};

/* The latest visit to a cell of the ground and the one before it, by their last points + 1. */
struct cell {
    int32_t east, north;
    size_t now, before;
};

struct ground {
    struct cell *cells;
    size_t size; /* a power of 2 */
};

static struct cell *cell_at(struct ground *ground, int32_t east, int32_t north) {
    uint64_t hash = (uint64_t)(uint32_t)east * UINT64_C(0x9E3779B97F4A7C15) ^
                    (uint64_t)(uint32_t)north * UINT64_C(0xC2B2AE3D27D4EB4F);
    size_t i = (size_t)(hash ^ hash >> 29) & (ground->size - 1);
    while (ground->cells[i].now &&
           (ground->cells[i].east != east || ground->cells[i].north != north))
        i = (i + 1) & (ground->size - 1);
    return &ground->cells[i];
}

static int by_time(const void *a, const void *b) {
    const struct point *x = a, *y = b;
    if (x->time_s != y->time_s) return x->time_s < y->time_s ? -1 : 1;
    return (x->recording > y->recording) - (x->recording < y->recording);
}

static size_t gather(const struct cw_recording *recordings, const struct cw_motion *motions,
                     size_t n, struct point *points) {
    const struct cw_metric *metric = NULL;
    size_t count = 0;
    for (size_t r = 0; r < n; r++) {
        const struct cw_samples *samples = &recordings[r].samples;
        const struct cw_motion *motion = &motions[r];
        if (!recordings[r].has_position || !recordings[r].has_elevation) continue;
        if (!metric && motion->n) metric = &motion->metric;
        for (size_t i = 0; i < motion->n; i++) {
            if (!isfinite(samples->latitude_deg[i]) || !isfinite(samples->longitude_deg[i]) ||
                !isfinite(samples->elevation_m[i]) || !(motion->speed_ms[i] > least_speed_ms))
                continue;
            struct point *p = &points[count++];
            *p = (struct point){
                .recording = r, .time_s = samples->time_s[i], .height_m = samples->elevation_m[i]};
            cw_metric_to_plane(metric, samples->latitude_deg[i], samples->longitude_deg[i],
                               &p->east_m, &p->north_m);
        }
    }
    qsort(points, count, sizeof *points, by_time);
    for (size_t i = 1; i < count; i++)
        points[i].joined = points[i].recording == points[i - 1].recording &&
                           points[i].time_s - points[i - 1].time_s <= CW_GAP_S;
    return count;
}

/* Whether p lies beside the line from point j to the next; then how far, and the height and time
 * there. */
static bool beside(const struct point *points, size_t j, const struct point *p, double *off_m,
                   double *height_m, double *time_s) {
    const struct point *a = &points[j], *b = &points[j + 1];
    double east = b->east_m - a->east_m, north = b->north_m - a->north_m;
    double square = east * east + north * north;
    if (!b->joined || !(square > 1)) return false;
    double u = ((p->east_m - a->east_m) * east + (p->north_m - a->north_m) * north) / square;
    if (u < 0 || u > 1) return false;
    *off_m = hypot(p->east_m - a->east_m - u * east, p->north_m - a->north_m - u * north);
    *height_m = a->height_m + u * (b->height_m - a->height_m);
    *time_s = a->time_s + u * (b->time_s - a->time_s);
    return *off_m <= beside_m;
}

/* A point's difference from the pass before. */
struct difference {
    size_t point, other; /* the point that it was passed behind, in the pass before */
    double other_s, apart_m;
};

/* The visit to a cell that was over a minute ago. */
static size_t earlier_visit(const struct cell *cell, const struct point *points, double time_s) {
    if (cell->now && time_s - points[cell->now - 1].time_s > visit_s) return cell->now;
    return cell->before;
}

/* What is farther off is not on the same earth. */
static const double most_m = 1e8;

static bool differ(struct ground *ground, const struct point *points, size_t i,
                   struct difference *d) {
    const struct point *p = &points[i];
    if (!(fabs(p->east_m) < most_m && fabs(p->north_m) < most_m)) return false;
    int32_t east = (int32_t)floor(p->east_m / cell_m), north = (int32_t)floor(p->north_m / cell_m);
    double nearest = INFINITY;
    for (int32_t e = -1; e <= 1; e++) {
        for (int32_t k = -1; k <= 1; k++) {
            size_t visit = earlier_visit(cell_at(ground, east + e, north + k), points, p->time_s);
            size_t first = visit > 3 ? visit - 3 : 0;
            for (size_t j = first; visit && j <= visit && j + 1 < i; j++) {
                double off, height, time;
                if (!beside(points, j, p, &off, &height, &time) || off >= nearest ||
                    p->time_s - time <= visit_s)
                    continue;
                nearest = off;
                *d = (struct difference){i, j, time, p->height_m - height};
            }
        }
    }
    struct cell *cell = cell_at(ground, east, north);
    if (!cell->now)
        *cell = (struct cell){.east = east, .north = north};
    else if (p->time_s - points[cell->now - 1].time_s > visit_s)
        cell->before = cell->now;
    cell->now = i + 1;
    return isfinite(nearest);
}

/* Changes of the difference within a minute of one ride beside another, into change; how many. */
static size_t changes(const struct difference *d, size_t n, const struct point *points,
                      double *change) {
    size_t count = 0;
    for (size_t a = 0, b = 0; a < n; a++) {
        if (b < a) b = a;
        double from_s = points[d[a].point].time_s;
        while (b < n && points[d[b].point].time_s - from_s < minute_low_s) b++;
        if (b == n) break;
        double other_s = fabs(d[b].other_s - d[a].other_s);
        if (points[d[b].point].time_s - from_s > minute_high_s ||
            points[d[b].point].recording != points[d[a].point].recording ||
            points[d[b].other].recording != points[d[a].other].recording ||
            !(other_s > 0.2 * minute_low_s && other_s < 5 * minute_high_s))
            continue;
        change[count++] = fabs(d[b].apart_m - d[a].apart_m);
    }
    return count;
}

static double coarsest_step(const struct cw_motion *motions, size_t n) {
    double step = 0;
    for (size_t r = 0; r < n; r++)
        if (motions[r].n) step = fmax(step, motions[r].elevation_step_m);
    return step;
}

static void judge(struct cw_height_kind *kind, double step_m) {
    if (kind->n < least_n) return;
    kind->told = true;
    if (kind->apart_m < map_apart_m && step_m < map_step_m)
        kind->kind = CW_ELEVATION_TERRAIN;
    else if (kind->drift_m > receiver_drift_m)
        kind->kind = CW_ELEVATION_SATELLITE;
    else if (kind->drift_m < sensor_drift_m && kind->apart_m > map_apart_m)
        kind->kind = CW_ELEVATION_BAROMETRIC;
    else
        kind->told = false;
}

enum cw_status cw_height_kind_tell(const struct cw_recording *recordings,
                                   const struct cw_motion *motions, size_t n,
                                   struct cw_height_kind *kind, struct cw_error *error) {
    size_t most = 1, pairs = 0;
    struct ground ground = {.size = 16};
    for (size_t r = 0; r < n; r++) most += motions[r].n;
    while (ground.size < 2 * most) ground.size *= 2;
    *kind = (struct cw_height_kind){.apart_m = NAN, .drift_m = NAN};
    struct point *points = malloc(most * sizeof *points);
    struct difference *found = malloc(most * sizeof *found);
    double *size = malloc(most * sizeof *size);
    ground.cells = calloc(ground.size, sizeof *ground.cells);
    enum cw_status status = CW_OK;
    if (!points || !found || !size || !ground.cells) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    size_t count = gather(recordings, motions, n, points);
    for (size_t i = 0; i < count; i++)
        if (differ(&ground, points, i, &found[pairs])) pairs++;
    kind->n = pairs;
    for (size_t i = 0; i < pairs; i++) size[i] = fabs(found[i].apart_m);
    if (pairs) kind->apart_m = cw_median(size, pairs);
    size_t changed = changes(found, pairs, points, size);
    /* The median of an absolute value is 0.6745 sd, and two passes drift. */
    if (changed >= least_n / 2) kind->drift_m = cw_median(size, changed) / 0.6745 / sqrt(2);
    judge(kind, coarsest_step(motions, n));
cleanup:
    free(points);
    free(found);
    free(size);
    free(ground.cells);
    return status;
}
