#include "runs/relief.h"

#include <math.h>
#include <stdlib.h>

#include "physics/gravity.h"
#include "runs/balance.h"
#include "stats/local_line.h"
#include "stats/robust.h"

#define LEAST_FELLOWS 3
/* The mean of two is hardly better than one. */
#define LEAST_PASSES 3
/* Slower than this a coast tells little of the slope. */
#define LEAST_SPEED_MS 2.0
/* No road rises more, for long (common practice, no source); who loses so much speed brakes. */
#define MOST_RISE 0.15
/* Who coasts through agrees with the others to about this, over so many steps; where the middle one
 * does not, some brake or pedal and nobody can say who. */
#define APART_SLOPE 0.012
#define APART_STEPS 8
#define APART_ABOUT 3
/* Heights are off by so much against what fellows add up to over the way that they are smoothed
 * over: so far off are the fellows' slopes. */
#define FELLOWS_SLOPE_SD 0.003
#define LEAST_REACH_M 40.0
#define MOST_REACH_M 600.0
/* Passes' heights are held against each other over so many steps; what is further apart is a jump.
 */
#define TOGETHER_STEPS 5
#define MOST_APART_M 3.0
/* How far off heights are, is told about this way. */
#define FAR_M 250.0

enum cw_status cw_relief_make(const struct cw_recording *recordings,
                              const struct cw_motion *motions, double *const *height_m,
                              const struct cw_passes *passes, struct cw_relief *relief,
                              struct cw_error *error) {
    size_t n = passes->n_nodes, most = n ? n : 1;
    *relief = (struct cw_relief){.n = n,
                                 .by_heights = calloc(most, sizeof(double)),
                                 .passes = calloc(most, sizeof(unsigned)),
                                 .off_m = NAN};
    double *weights = calloc(most, sizeof *weights);
    for (int w = 0; w < 2; w++) {
        relief->slope[w] = malloc(most * sizeof(double));
        relief->fellows[w] = calloc(most, sizeof(unsigned));
    }
    if (!relief->by_heights || !relief->passes || !weights || !relief->slope[0] ||
        !relief->slope[1] || !relief->fellows[0] || !relief->fellows[1]) {
        free(weights);
        return cw_error_memory(error);
    }
    for (size_t r = 0; r < passes->n_walks; r++) {
        const struct cw_walk *walk = &passes->walks[r];
        const struct cw_motion *motion = &motions[r];
        for (size_t k = 1; k < walk->n; k++) {
            size_t node;
            if (!cw_walk_piece(walk, k, &node)) continue;
            double rise = cw_walk_value(walk, motion, height_m[r], k) -
                          cw_walk_value(walk, motion, height_m[r], k - 1);
            double took = cw_walk_value(walk, motion, recordings[r].samples.time_s, k) -
                          cw_walk_value(walk, motion, recordings[r].samples.time_s, k - 1);
            if (!isfinite(rise) || !(took > 0.0)) continue;
            relief->by_heights[node] += walk->place[k].way * rise / CW_STEP_M / took;
            weights[node] += 1.0 / took;
            relief->passes[node]++;
        }
    }
    for (size_t k = 0; k < n; k++) {
        relief->by_heights[k] = relief->passes[k] ? relief->by_heights[k] / weights[k] : NAN;
        relief->slope[0][k] = relief->slope[1][k] = relief->by_heights[k];
    }
    free(weights);
    return CW_OK;
}

void cw_relief_free(struct cw_relief *relief) {
    free(relief->by_heights);
    free(relief->passes);
    for (int w = 0; w < 2; w++) {
        free(relief->slope[w]);
        free(relief->fellows[w]);
    }
    *relief = (struct cw_relief){0};
}

double cw_relief_apart(const struct cw_relief *relief, const struct cw_motion *motions,
                       double *const *height_m, const struct cw_passes *passes, size_t *compared) {
    double squares = 0.0;
    *compared = 0;
    for (size_t r = 0; r < passes->n_walks; r++) {
        const struct cw_walk *walk = &passes->walks[r];
        double off[TOGETHER_STEPS] = {0}, sum = 0.0;
        size_t in_row = 0, node;
        for (size_t k = 1; k < walk->n; k++) {
            double now = NAN;
            if (cw_walk_piece(walk, k, &node) && relief->passes[node] > 1)
                now = cw_walk_value(walk, &motions[r], height_m[r], k) -
                      cw_walk_value(walk, &motions[r], height_m[r], k - 1) -
                      walk->place[k].way * CW_STEP_M * relief->by_heights[node];
            if (isnan(now)) {
                in_row = 0;
                sum = 0.0;
                continue;
            }
            size_t at = in_row++ % TOGETHER_STEPS;
            if (in_row > TOGETHER_STEPS) sum -= off[at];
            off[at] = now;
            sum += now;
            if (in_row < TOGETHER_STEPS) continue;
            squares += fmin(sum * sum, MOST_APART_M * MOST_APART_M);
            ++*compared;
        }
    }
    return squares / (double)*compared;
}

/* One way's fellows. */
struct asked {
    const struct cw_motion *motions;
    const struct cw_passes *passes;
    bool *const *coasts;
    const struct cw_runs_options *options;
    double cda_m2, crr;
    int way;
    size_t *from; /* node k's values are those from from[k] up to from[k + 1] */
    double *told; /* as many as steps coasted */
};

/* Whether recording r coasts from step k - 1 to k, at *node, and the slope along the line that it
 * tells by its own loss of speed. */
static bool tells(const struct asked *a, size_t r, size_t k, size_t *node, double *slope) {
    const struct cw_walk *walk = &a->passes->walks[r];
    const struct cw_motion *motion = &a->motions[r];
    if (walk->place[k].way != a->way || !cw_walk_piece(walk, k, node)) return false;
    for (size_t i = walk->before[k - 1]; i <= walk->before[k] + 1; i++)
        if (!a->coasts[r][i] || !(motion->speed_ms[i] >= LEAST_SPEED_MS)) return false;
    double from = cw_walk_value(walk, motion, motion->speed_ms, k - 1);
    double to = cw_walk_value(walk, motion, motion->speed_ms, k);
    struct cw_loss loss = cw_balance_loss(a->options, 0.5 * (from + to));
    *slope = a->way * ((from * from - to * to) / (2.0 * CW_STANDARD_GRAVITY_MS2 * CW_STEP_M) -
                       cw_loss_sum(&loss, a->cda_m2, a->crr));
    return a->way * *slope <= MOST_RISE;
}

static enum cw_status collect(struct asked *a, size_t n, struct cw_error *error) {
    size_t node;
    double slope;
    if (!(a->from = calloc(n + 2, sizeof *a->from))) return cw_error_memory(error);
    for (size_t r = 0; r < a->passes->n_walks; r++)
        for (size_t k = 1; a->coasts[r] && k < a->passes->walks[r].n; k++)
            if (tells(a, r, k, &node, &slope)) a->from[node + 2]++;
    for (size_t k = 0; k < n; k++) a->from[k + 2] += a->from[k + 1];
    size_t all = a->from[n + 1];
    if (!(a->told = malloc((all ? all : 1) * sizeof *a->told))) return cw_error_memory(error);
    /* from[k + 1] is where node k's next value goes, and at the end where they end. */
    for (size_t r = 0; r < a->passes->n_walks; r++)
        for (size_t k = 1; a->coasts[r] && k < a->passes->walks[r].n; k++)
            if (tells(a, r, k, &node, &slope)) a->told[a->from[node + 1]++] = slope;
    return CW_OK;
}

static double median_told(const struct asked *a, size_t node) {
    return cw_median(a->told + a->from[node], a->from[node + 1] - a->from[node]);
}

/* Puts in told, in place of slopes, how far each pass is from slope over the way of some steps that
 * ends there: passes that coast agree, but for wind and what they wear. */
static void hold_against(struct asked *a, const double *slope, size_t n) {
    size_t node;
    double off[APART_STEPS] = {0}, told;
    for (size_t k = n; k-- > 0;) a->from[k + 1] = a->from[k];
    for (size_t r = 0; r < a->passes->n_walks; r++) {
        double sum = 0.0;
        size_t in_row = 0;
        for (size_t k = 1; a->coasts[r] && k < a->passes->walks[r].n; k++) {
            if (!tells(a, r, k, &node, &told)) {
                in_row = 0;
                sum = 0.0;
                continue;
            }
            size_t at = in_row++ % APART_STEPS;
            if (in_row > APART_STEPS) sum -= off[at];
            off[at] = told - slope[node];
            sum += off[at];
            a->told[a->from[node + 1]++] =
                fabs(sum) / fmax((double)APART_STEPS / 2.0, fmin((double)in_row, APART_STEPS));
        }
    }
}

/* The nodes' y about node `at`, smoothed over `reach` nodes on either side. */
static double smooth_at(const double *y, size_t n, size_t at, size_t reach) {
    size_t first = at > reach ? at - reach : 0, last = at + reach < n ? at + reach : n - 1;
    return cw_local_line(NULL, y, first, last, (double)at, (double)(reach + 1));
}

static size_t reach_of(double way_m) {
    return (size_t)fmax(1.0, round(way_m / CW_STEP_M));
}

/* Puts heights and fellows together over the nodes [first, last] in a row. apart, even: room for as
 * many values. */
static void join(const double *by_heights, double *slope, size_t n, double *apart, double *even,
                 double *off, size_t *n_off) {
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += CW_STEP_M * (by_heights[i] - slope[i]);
        apart[i] = sum;
    }
    for (size_t i = 0; i < n; i++)
        off[(*n_off)++] = even[i] = fabs(apart[i] - smooth_at(apart, n, i, reach_of(FAR_M)));
    /* The rougher the heights, the longer the way over which they are believed. */
    double rough = 1.4826 * cw_median(even, n);
    double reach_m = fmin(fmax(rough / FELLOWS_SLOPE_SD, LEAST_REACH_M), MOST_REACH_M);
    for (size_t i = 0; i < n; i++) even[i] = smooth_at(apart, n, i, reach_of(reach_m));
    for (size_t i = 1; i + 1 < n; i++) slope[i] += (even[i + 1] - even[i - 1]) / (2.0 * CW_STEP_M);
}

static enum cw_status ask_way(struct asked *a, struct cw_relief *relief, double *off, size_t *n_off,
                              struct cw_error *error) {
    size_t n = relief->n;
    double *slope = relief->slope[a->way < 0];
    unsigned *fellows = relief->fellows[a->way < 0];
    double *room = malloc(2 * (n ? n : 1) * sizeof *room);
    enum cw_status status = room ? collect(a, n, error) : cw_error_memory(error);
    if (status != CW_OK) goto cleanup;
    for (size_t k = 0; k < n; k++) {
        size_t count = a->from[k + 1] - a->from[k];
        fellows[k] = count >= LEAST_FELLOWS ? (unsigned)count : 0;
        slope[k] = fellows[k] > 0 ? median_told(a, k) : relief->by_heights[k];
    }
    hold_against(a, slope, n);
    for (size_t k = 0; k < n; k++) room[k] = fellows[k] > 0 ? median_told(a, k) : 0.0;
    for (size_t k = 0; k < n; k++) {
        double sum = 0.0, count = 0.0;
        for (size_t i = k > APART_ABOUT ? k - APART_ABOUT : 0; i <= k + APART_ABOUT && i < n; i++) {
            sum += room[i];
            count += fellows[i] > 0 ? 1.0 : 0.0;
        }
        room[n + k] = sum / count;
    }
    for (size_t k = 0; k < n; k++) {
        if (fellows[k] == 0 || room[n + k] <= APART_SLOPE) continue;
        fellows[k] = 0;
        slope[k] = relief->by_heights[k];
    }
    for (size_t k = 0; k < n;) {
        size_t first = k;
        while (k < n && fellows[k] > 0 && isfinite(relief->by_heights[k])) k++;
        if (k - first >= 3)
            join(relief->by_heights + first, slope + first, k - first, room, room + n, off, n_off);
        if (k == first) k++;
    }
cleanup:
    free(room);
    free(a->told);
    free(a->from);
    return status;
}

enum cw_status cw_relief_ask_fellows(const struct cw_motion *motions,
                                     const struct cw_passes *passes, bool *const *coasts,
                                     double cda_m2, const struct cw_runs_options *options,
                                     struct cw_relief *relief, struct cw_error *error) {
    size_t n_off = 0;
    double *off = malloc((2 * relief->n + 1) * sizeof *off);
    if (!off) return cw_error_memory(error);
    enum cw_status status = CW_OK;
    for (int way = 1; way >= -1 && status == CW_OK; way -= 2) {
        struct asked asked = {.motions = motions,
                              .passes = passes,
                              .coasts = coasts,
                              .options = options,
                              .cda_m2 = cda_m2,
                              .crr = sqrt(options->crr_low * options->crr_high),
                              .way = way};
        status = ask_way(&asked, relief, off, &n_off, error);
    }
    relief->off_m = n_off ? 1.4826 * cw_median(off, n_off) : NAN;
    free(off);
    return status;
}

/* The step that ends beyond the middle between samples i - 1 and i; 0 if none. */
static size_t step_of(const struct cw_walk *walk, const struct cw_motion *motion, size_t i) {
    if (i == 0 || walk->n == 0) return 0;
    double middle = 0.5 * (motion->distance_m[i] + motion->distance_m[i - 1]);
    size_t k = (size_t)fmax((middle - walk->first_m) / CW_STEP_M, 0.0) + 1;
    return k < walk->n ? k : 0;
}

void cw_relief_heights(const struct cw_relief *relief, const struct cw_walk *walk,
                       const struct cw_motion *motion, const double *own_height_m, double *height_m,
                       bool *by_fellows, double *sd_m) {
    double sum = 0.0, n = 0.0;
    for (size_t i = 0; i < motion->n; i++) {
        size_t k = step_of(walk, motion, i), node = 0;
        double part = 1.0, rise = i ? own_height_m[i] - own_height_m[i - 1] : NAN;
        by_fellows[i] = false;
        if (k > 0 && !motion->gap_before[i] && cw_walk_piece(walk, k, &node)) {
            int way = walk->place[k].way;
            double slope = way * relief->slope[way < 0][node];
            by_fellows[i] = relief->fellows[way < 0][node] > 0;
            if (isfinite(slope) && (by_fellows[i] || relief->passes[node] >= LEAST_PASSES)) {
                rise = slope * (motion->distance_m[i] - motion->distance_m[i - 1]);
                part = 1.0 / sqrt((double)relief->passes[node]);
            }
        }
        bool goes_on = i > 0 && isfinite(height_m[i - 1]) && isfinite(rise);
        height_m[i] = goes_on ? height_m[i - 1] + rise : own_height_m[i];
        if (by_fellows[i]) continue;
        sum += part;
        n++;
    }
    *sd_m = n > 0.0 ? motion->elevation_sd_m * sum / n : 0.0;
}
