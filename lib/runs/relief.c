#include "runs/relief.h"

#include <math.h>
#include <stdlib.h>

#include "physics/gravity.h"
#include "runs/balance.h"
#include "stats/local_line.h"
#include "stats/robust.h"

#define LEAST_FELLOWS 3
/* Of many who go there some look like coasting by chance. */
#define LEAST_PART 0.25
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
/* So far off are the fellows' slopes, over any way: by wind, by another CdA. */
#define FELLOWS_SLOPE_SD 0.003
/* After them it goes on for so long about as steep, give or take this (common practice, no
 * source). */
#define GOES_ON_M 80.0
#define GOES_ON_SLOPE_SD 0.04
#define LEAST_REACH_M 40.0
#define MOST_REACH_M 600.0
/* Passes' heights are held against each other over so many steps; what is further apart is a jump.
 */
#define TOGETHER_STEPS 5
#define MOST_APART_M 3.0

enum cw_status cw_relief_make(const struct cw_recording *recordings,
                              const struct cw_motion *motions, double *const *height_m,
                              const struct cw_passes *passes, struct cw_relief *relief,
                              struct cw_error *error) {
    size_t n = passes->n_nodes, most = n ? n : 1;
    *relief = (struct cw_relief){.n = n,
                                 .by_heights = calloc(most, sizeof(double)),
                                 .passes = calloc(most, sizeof(unsigned))};
    for (int way = 0; way < CW_OFF_WAYS; way++) relief->off_m[way] = NAN;
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
    return cw_local_line(y, first, last, (double)at, (double)(reach + 1));
}

static size_t reach_of(double way_m) {
    return (size_t)fmax(1.0, round(way_m / CW_STEP_M));
}

/* The next nodes in a row, [*first, *end), from *end on, that both fellows and heights tell; false
 * when there are no more. */
static bool next_row(const struct cw_relief *relief, int back, size_t *first, size_t *end) {
    const unsigned *fellows = relief->fellows[back];
    do {
        *first = *end;
        while (*first < relief->n && !(fellows[*first] && isfinite(relief->by_heights[*first])))
            ++*first;
        *end = *first;
        while (*end < relief->n && fellows[*end] && isfinite(relief->by_heights[*end])) ++*end;
        if (*first >= relief->n) return false;
    } while (*end - *first < 3);
    return true;
}

/* Fills apart with what heights rise more than fellows, up to the end of each node in a row. */
static void add_up(const struct cw_relief *relief, int back, size_t first, size_t end,
                   double *apart) {
    double sum = 0.0;
    for (size_t k = first; k < end; k++)
        apart[k - first] = sum += CW_STEP_M * (relief->by_heights[k] - relief->slope[back][k]);
}

/* How far heights and fellows are apart, over all rows and both ways. */
static enum cw_status see_off(struct cw_relief *relief, double *apart, struct cw_error *error) {
    size_t room = 2 * relief->n + 1, first, end;
    double *off = malloc(room * sizeof *off), least = NAN;
    if (!off) return cw_error_memory(error);
    for (int way = 0; way < CW_OFF_WAYS; way++) {
        size_t n = 0, reach = reach_of(CW_OFF_WAY_M) << way;
        for (int back = 0; back < 2; back++)
            for (end = 0; next_row(relief, back, &first, &end);) {
                add_up(relief, back, first, end, apart);
                for (size_t i = reach; i < end - first; i++)
                    off[n++] = fabs(apart[i] - apart[i - reach]);
            }
        if (n > 0) least = fmax(least, 1.4826 * cw_median(off, n));
        relief->off_m[way] = least;
    }
    free(off);
    return CW_OK;
}

/* Heights decide over long ways: where fellows are farther from them than heights may be off, all
 * pedalled alike, and tell nothing. apart: room for a value a node. */
static void drop_off(struct cw_relief *relief, int back, double *apart) {
    for (size_t first, end = 0; next_row(relief, back, &first, &end);) {
        add_up(relief, back, first, end, apart);
        for (int way = 0; way < CW_OFF_WAYS; way++) {
            size_t reach = reach_of(CW_OFF_WAY_M) << way, dropped = 0;
            for (size_t i = reach; i < end - first; i++) {
                if (fabs(apart[i] - apart[i - reach]) <= CW_OFF_SDS * relief->off_m[way]) continue;
                if (dropped + reach < i + 1) dropped = i + 1 - reach;
                for (; dropped <= i; dropped++) {
                    relief->fellows[back][first + dropped] = 0;
                    relief->slope[back][first + dropped] = relief->by_heights[first + dropped];
                }
            }
        }
    }
}

/* Puts heights and fellows together: the rougher the heights, the longer the way over which they
 * are believed, and the less. apart, even: room for a value a node. */
static void join(struct cw_relief *relief, int back, double *apart, double *even) {
    double reach_m = LEAST_REACH_M, *slope = relief->slope[back];
    while (reach_m < MOST_REACH_M && cw_relief_off_m(relief, reach_m) > FELLOWS_SLOPE_SD * reach_m)
        reach_m *= 1.25;
    double odds = FELLOWS_SLOPE_SD * reach_m / cw_relief_off_m(relief, reach_m);
    double belief = odds * odds / (1.0 + odds * odds);
    for (size_t first, end = 0; next_row(relief, back, &first, &end);) {
        size_t n = end - first;
        add_up(relief, back, first, end, apart);
        for (size_t i = 0; i < n; i++) even[i] = smooth_at(apart, n, i, reach_of(reach_m));
        for (size_t i = 1; i + 1 < n; i++)
            slope[first + i] += belief * (even[i + 1] - even[i - 1]) / (2.0 * CW_STEP_M);
    }
}

/* Where coasts end nobody is asked any more, but the road mostly goes on as steep as fellows tell
 * it before: the poorer the heights, the more that is believed. Where coasts begin there is a crest
 * as often as not. */
static void go_on(struct cw_relief *relief, int back) {
    double *slope = relief->slope[back], off = relief->off_m[0] / CW_OFF_WAY_M;
    double belief = off * off / (off * off + GOES_ON_SLOPE_SD * GOES_ON_SLOPE_SD);
    size_t most = reach_of(GOES_ON_M);
    for (size_t first, end = 0; next_row(relief, back, &first, &end);) {
        const double *last = slope + (back ? first : end - 3);
        double mean = (last[0] + last[1] + last[2]) / 3.0;
        for (size_t n = 1; n <= most && (!back || n <= first); n++) {
            size_t k = back ? first - n : end - 1 + n;
            if (k >= relief->n || relief->fellows[back][k] > 0 || isnan(relief->by_heights[k]))
                break;
            slope[k] += belief * (mean - slope[k]);
        }
    }
}

/* Fills all[n] with how many go that way, whatever they do. */
static void count_all(const struct asked *a, double *all, size_t n) {
    size_t node;
    for (size_t k = 0; k < n; k++) all[k] = 0.0;
    for (size_t r = 0; r < a->passes->n_walks; r++) {
        const struct cw_walk *walk = &a->passes->walks[r];
        for (size_t k = 1; k < walk->n; k++)
            if (walk->place[k].way == a->way && cw_walk_piece(walk, k, &node)) all[node]++;
    }
}

/* What one way's fellows tell, where they agree. room: two values a node. */
static enum cw_status ask_way(struct asked *a, struct cw_relief *relief, double *room,
                              struct cw_error *error) {
    size_t n = relief->n;
    double *slope = relief->slope[a->way < 0];
    unsigned *fellows = relief->fellows[a->way < 0];
    enum cw_status status = collect(a, n, error);
    if (status != CW_OK) goto cleanup;
    count_all(a, room, n);
    for (size_t k = 0; k < n; k++) {
        size_t count = a->from[k + 1] - a->from[k];
        bool enough = count >= LEAST_FELLOWS && (double)count >= LEAST_PART * room[k];
        fellows[k] = enough ? (unsigned)count : 0;
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
cleanup:
    free(a->told);
    free(a->from);
    return status;
}

enum cw_status cw_relief_ask_fellows(const struct cw_motion *motions,
                                     const struct cw_passes *passes, bool *const *coasts,
                                     double cda_m2, const struct cw_runs_options *options,
                                     struct cw_relief *relief, struct cw_error *error) {
    size_t n = relief->n;
    double *room = malloc((2 * n + 1) * sizeof *room);
    if (!room) return cw_error_memory(error);
    enum cw_status status = CW_OK;
    for (int way = 1; way >= -1 && status == CW_OK; way -= 2) {
        struct asked asked = {.motions = motions,
                              .passes = passes,
                              .coasts = coasts,
                              .options = options,
                              .cda_m2 = cda_m2,
                              .crr = sqrt(options->crr_low * options->crr_high),
                              .way = way};
        status = ask_way(&asked, relief, room, error);
    }
    if (status == CW_OK && isnan(relief->off_m[0])) status = see_off(relief, room, error);
    for (int back = 0; back < 2 && status == CW_OK; back++) {
        drop_off(relief, back, room);
        join(relief, back, room, room + n);
        go_on(relief, back);
    }
    free(room);
    return status;
}

double cw_relief_off_m(const struct cw_relief *relief, double way_m) {
    int way = 0;
    while (way + 1 < CW_OFF_WAYS && way_m > CW_OFF_WAY_M * (double)(1 << way)) way++;
    return relief->off_m[way];
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
