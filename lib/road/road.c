#include "road/road.h"

#include <math.h>
#include <stdlib.h>

#include "road/line.h"
#include "stats/robust.h"
#include "stats/spline.h"

#define SPACING_M 5.0
/* Smoothing along the line (stats/spline.h), and half width of a run's own mean across it. */
#define SMOOTH_M 8.0
#define ACROSS_M 10.0
/* And of the slow wander of its positions, and the least that is of the way between two of them. */
#define WANDER_M 200.0
#define WANDER_STEPS 2.5
/* How far a position may lie along the road from where the speed puts it. */
#define REACH_M 40.0
#define SLACK_M 15.0
#define ROUNDS 6
/* Of a run, what may reach past the line's end. */
#define OVERHANG 0.85
/* Farther from the line than this part of the spread is an outlier. */
#define OUTLIER 4.0

/* One run while the line is made: its positions and where they are on the line. A reversed run is
 * taken from its end to its start. */
struct trace {
    size_t n;     /* positions */
    double *at_m; /* integrated speed from its first position's end of the run */
    double *east_m, *north_m;
    double *s_m, *left_m; /* on the line */
    /* What of left_m is the run's own slow wander. Where few runs have a position it would throw
     * the line from side to side, and make it longer. */
    double *wander_m;
    double shift_m, scale; /* s = shift + scale at: where to look for them */
    double length_m;       /* of the whole run, by integrated speed */
};

static void trace_free(struct trace *trace) {
    free(trace->at_m);
    *trace = (struct trace){0};
}

static enum cw_status trace_make(const struct cw_recording *recording,
                                 const struct cw_motion *motion, const struct cw_run *run,
                                 const struct cw_metric *metric, struct trace *trace,
                                 struct cw_error *error) {
    size_t most = run->last - run->first + 1;
    double *columns = calloc(6 * most, sizeof *columns);
    if (!columns) return cw_error_memory(error);
    *trace = (struct trace){.at_m = columns,
                            .east_m = columns + most,
                            .north_m = columns + 2 * most,
                            .s_m = columns + 3 * most,
                            .left_m = columns + 4 * most,
                            .wander_m = columns + 5 * most,
                            .scale = 1.0};
    trace->length_m = motion->distance_m[run->last] - motion->distance_m[run->first];
    for (size_t k = 0; k < most; k++) {
        size_t i = run->reversed ? run->last - k : run->first + k;
        double latitude = recording->samples.latitude_deg[i];
        double longitude = recording->samples.longitude_deg[i];
        double at = fabs(motion->distance_m[i] -
                         motion->distance_m[run->reversed ? run->last : run->first]);
        if (!isfinite(latitude) || !isfinite(longitude)) continue;
        if (trace->n > 0 && !(at > trace->at_m[trace->n - 1])) continue;
        trace->at_m[trace->n] = at;
        cw_metric_to_plane(metric, latitude, longitude, &trace->east_m[trace->n],
                           &trace->north_m[trace->n]);
        trace->n++;
    }
    return CW_OK;
}

/* The shift that lays the run's positions nearest to the line, tried every 5 m; so that the search
 * of single positions starts on the right arm of a hairpin. */
static void find_shift(const struct cw_line *line, struct trace *trace) {
    double length = line->s_m[line->n - 1], best = INFINITY;
    size_t stride = trace->n > 30 ? trace->n / 30 : 1;
    double most = OVERHANG * trace->length_m;
    for (double shift = -most; shift <= length - trace->length_m + most; shift += SPACING_M) {
        double sum = 0.0, count = 0.0;
        for (size_t i = 0; i < trace->n; i += stride) {
            double s = shift + trace->at_m[i], east, north;
            if (s < -SPACING_M || s > length + SPACING_M) continue;
            cw_line_at(line, s, &east, &north);
            sum += fmin(hypot(east - trace->east_m[i], north - trace->north_m[i]), 100.0);
            count += 1.0;
        }
        /* A shift that leaves much of the run off the line must not win by what is left. */
        double all = ceil((double)trace->n / (double)stride);
        double cost = count > 0.0 ? sum / count + 20.0 * (all - count) / all : INFINITY;
        if (cost < best) {
            best = cost;
            trace->shift_m = shift;
        }
    }
    trace->scale = 1.0;
}

/* Whether the line tells where a position is: beyond its ends it only goes on straight. */
static bool is_told(const struct cw_line *line, double s_m) {
    return s_m >= -SLACK_M && s_m <= line->s_m[line->n - 1] + SLACK_M;
}

/* Robust straight line s = shift + scale at through the projected positions that the line tells.
 * Over less than 100 m of them only the shift is taken. */
static void tie(const struct cw_line *line, struct trace *trace, double *scratch) {
    double least = 0.0, mean_at = 0.0, mean_s = 0.0, xx = 0.0, xy = 0.0, count = 0.0;
    size_t told = 0, first = trace->n, last = 0;
    for (size_t i = 0; i < trace->n; i++) {
        if (!is_told(line, trace->s_m[i])) continue;
        scratch[told++] = trace->s_m[i] - trace->scale * trace->at_m[i];
        if (first == trace->n) first = i;
        last = i;
    }
    if (told < 2) return;
    double middle = cw_median(scratch, told);
    for (size_t i = 0; i < told; i++) scratch[i] = fabs(scratch[i] - middle);
    least = fmax(OUTLIER * 1.4826 * cw_median(scratch, told), 1.0);
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = first; i <= last; i++) {
            if (!is_told(line, trace->s_m[i]) ||
                fabs(trace->s_m[i] - trace->scale * trace->at_m[i] - middle) > least)
                continue;
            if (pass == 0) {
                count += 1.0;
                mean_at += (trace->at_m[i] - mean_at) / count;
                mean_s += (trace->s_m[i] - mean_s) / count;
            } else {
                xx += (trace->at_m[i] - mean_at) * (trace->at_m[i] - mean_at);
                xy += (trace->at_m[i] - mean_at) * (trace->s_m[i] - mean_s);
            }
        }
    bool long_enough = trace->at_m[last] - trace->at_m[first] > 100.0;
    double scale = xx > 0.0 && long_enough ? xy / xx : 1.0;
    trace->scale = fmin(fmax(scale, 0.9), 1.1);
    trace->shift_m = mean_s - trace->scale * mean_at;
}

static void project(const struct cw_line *line, struct trace *trace, double *scratch) {
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < trace->n; i++) {
            double s = trace->shift_m + trace->scale * trace->at_m[i];
            cw_line_project(line, trace->east_m[i], trace->north_m[i], s, REACH_M, SLACK_M,
                            &trace->s_m[i], &trace->left_m[i]);
        }
        tie(line, trace, scratch);
    }
}

/* Puts the part of a run that reaches past one end of the line in front of it or behind it, moved
 * sideways so that it joins. */
static enum cw_status extend(struct cw_line *line, const struct trace *trace, bool in_front,
                             struct cw_error *error) {
    double length = line->s_m[line->n - 1];
    struct cw_line own;
    enum cw_status status = cw_line_smooth(trace->n, trace->at_m, trace->east_m, trace->north_m,
                                           SPACING_M, SMOOTH_M, &own, error);
    if (status != CW_OK) return status;
    /* Where the line's end is on the run's own line. */
    double joint = ((in_front ? 0.0 : length) - trace->shift_m) / trace->scale - trace->at_m[0];
    double end_east = line->east_m[in_front ? 0 : line->n - 1];
    double end_north = line->north_m[in_front ? 0 : line->n - 1], east, north;
    cw_line_at(&own, joint, &east, &north);
    size_t first = 0, last = own.n;
    if (in_front)
        while (last > 0 && own.s_m[last - 1] > joint - 0.5 * SPACING_M) last--;
    else
        while (first < own.n && own.s_m[first] < joint + 0.5 * SPACING_M) first++;
    size_t more = last - first, n = line->n + more;
    struct cw_line both = {n, malloc(n * sizeof(double)), malloc(n * sizeof(double)),
                           malloc(n * sizeof(double))};
    if (!both.s_m || !both.east_m || !both.north_m) {
        cw_line_free(&both);
        cw_line_free(&own);
        return cw_error_memory(error);
    }
    for (size_t k = 0; k < n; k++) {
        bool is_new = in_front ? k < more : k >= line->n;
        size_t i = in_front ? (is_new ? k : k - more) : (is_new ? first + k - line->n : k);
        both.east_m[k] = is_new ? own.east_m[i] + end_east - east : line->east_m[i];
        both.north_m[k] = is_new ? own.north_m[i] + end_north - north : line->north_m[i];
    }
    cw_line_free(&own);
    cw_line_free(line);
    *line = both;
    return cw_line_resample(line, SPACING_M, error);
}

/* Lays the line as far as the runs together reach. Every trace is projected afterwards. */
static enum cw_status reach_out(struct cw_line *line, struct trace *traces, size_t n,
                                double *scratch, struct cw_error *error) {
    for (size_t k = 0; k < n; k++) {
        struct trace *trace = &traces[k];
        if (trace->n < 2) continue;
        find_shift(line, trace);
        project(line, trace, scratch);
        double before = -(trace->shift_m + trace->scale * trace->at_m[0]);
        double beyond =
            trace->shift_m + trace->scale * trace->at_m[trace->n - 1] - line->s_m[line->n - 1];
        enum cw_status status = CW_OK;
        if (beyond > SPACING_M) status = extend(line, trace, false, error);
        if (status == CW_OK && before > SPACING_M) {
            double length = line->s_m[line->n - 1];
            status = extend(line, trace, true, error);
            /* The line's start has moved for all traces placed so far. */
            for (size_t j = 0; status == CW_OK && j <= k; j++)
                traces[j].shift_m += line->s_m[line->n - 1] - length;
        }
        if (status != CW_OK) return status;
    }
    for (size_t k = 0; k < n; k++)
        if (traces[k].n >= 2) project(line, &traces[k], scratch);
    return CW_OK;
}

/* A run's mean distance to the left of the line, less given ones or not, within half of s; or NaN.
 */
static double own_left(const struct trace *trace, const double *less_m, double s_m, double half_m) {
    double sum = 0.0, weights = 0.0;
    /* Positions come nearly in order along the line; ends found by bisection on at_m. */
    double at = (s_m - trace->shift_m) / trace->scale, reach = half_m + 20.0;
    size_t low = 0, high = trace->n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (trace->at_m[middle] < at - reach)
            low = middle + 1;
        else
            high = middle;
    }
    for (size_t i = low; i < trace->n && trace->at_m[i] <= at + reach; i++) {
        double u = (trace->s_m[i] - s_m) / half_m;
        if (!(fabs(u) < 1.0)) continue;
        sum += (1.0 - u * u) * (trace->left_m[i] - (less_m ? less_m[i] : 0.0));
        weights += 1.0 - u * u;
    }
    return weights > 0.2 ? sum / weights : NAN;
}

static void find_wander(struct trace *trace) {
    double step = (trace->at_m[trace->n - 1] - trace->at_m[0]) / (double)(trace->n - 1);
    for (size_t i = 0; i < trace->n; i++)
        trace->wander_m[i] =
            own_left(trace, NULL, trace->s_m[i], fmax(WANDER_M, WANDER_STEPS * step));
}

/* Moves the line to the median of the runs, smoothed along it. */
static enum cw_status centre(struct cw_line *line, const struct trace *traces, size_t n,
                             struct cw_error *error) {
    double *columns = malloc((4 * line->n + n) * sizeof *columns);
    if (!columns) return cw_error_memory(error);
    double *left = columns, *turned = left + line->n, *at = turned + line->n, *seen = at + line->n,
           *across = seen + line->n;
    size_t told = 0;
    for (size_t k = 0; k < line->n; k++) {
        size_t here = 0;
        for (size_t r = 0; r < n; r++) {
            double own = traces[r].n >= 2
                             ? own_left(&traces[r], traces[r].wander_m, line->s_m[k], ACROSS_M)
                             : NAN;
            if (isfinite(own)) across[here++] = own;
        }
        if (!here) continue;
        at[told] = line->s_m[k];
        seen[told++] = cw_median(across, here);
    }
    struct cw_spline smooth = {0};
    enum cw_status status =
        told < 2 ? CW_OK : cw_spline_make(told, at, seen, SMOOTH_M, &smooth, error);
    if (told < 2 || status != CW_OK) {
        cw_spline_free(&smooth);
        free(columns);
        return status;
    }
    for (size_t k = 0; k < line->n; k++)
        left[k] = cw_spline_at(&smooth, fmin(fmax(line->s_m[k], at[0]), at[told - 1]));
    cw_spline_free(&smooth);
    /* All normals before any point is moved. */
    for (size_t k = 0; k < line->n; k++) {
        size_t a = k > 0 ? k - 1 : 0, b = k + 1 < line->n ? k + 1 : k;
        double px = line->east_m[b] - line->east_m[a], py = line->north_m[b] - line->north_m[a];
        double length = hypot(px, py);
        turned[k] =
            length > 0.0 ? atan2(px, -py) : 0.0; /* direction of the left normal (-py, px) */
    }
    for (size_t k = 0; k < line->n; k++) {
        line->east_m[k] += left[k] * cos(turned[k]);
        line->north_m[k] += left[k] * sin(turned[k]);
    }
    free(columns);
    return cw_line_resample(line, SPACING_M, error);
}

static enum cw_status lay(struct trace *traces, size_t n, struct cw_line *line, double *spread_m,
                          struct cw_error *error) {
    size_t longest = 0, positions = 0, at = 0;
    for (size_t k = 0; k < n; k++) {
        positions += traces[k].n;
        if (traces[k].n >= 2 &&
            (traces[longest].n < 2 || traces[k].length_m > traces[longest].length_m))
            longest = k;
    }
    *spread_m = 0.0;
    if (traces[longest].n < 2) return CW_OK;
    double *scratch = malloc(positions * sizeof *scratch);
    if (!scratch) return cw_error_memory(error);
    const struct trace *first = &traces[longest];
    enum cw_status status = cw_line_smooth(first->n, first->at_m, first->east_m, first->north_m,
                                           SPACING_M, SMOOTH_M, line, error);
    if (status == CW_OK) status = reach_out(line, traces, n, scratch, error);
    for (int round = 0; status == CW_OK && round < ROUNDS; round++) {
        double length = line->s_m[line->n - 1];
        if ((status = centre(line, traces, n, error)) != CW_OK) break;
        double stretch = line->s_m[line->n - 1] / length;
        for (size_t k = 0; k < n; k++) {
            if (traces[k].n < 2) continue;
            traces[k].shift_m *= stretch;
            traces[k].scale *= stretch;
            project(line, &traces[k], scratch);
            find_wander(&traces[k]);
        }
    }
    for (size_t k = 0; status == CW_OK && k < n; k++)
        for (size_t i = 0; traces[k].n >= 2 && i < traces[k].n; i++)
            scratch[at++] = fabs(traces[k].left_m[i]);
    if (at > 0) *spread_m = 1.4826 * cw_median(scratch, at);
    free(scratch);
    return status;
}

/* A run's samples on the line: trace->s_m given back to the samples that have a position, and the
 * integrated speed tied to them by one shift. */
static enum cw_status place(const struct cw_recording *recording, const struct cw_motion *motion,
                            const struct cw_run *run, const struct cw_road *road,
                            const struct cw_line *line, const struct trace *trace,
                            struct cw_along *along, struct cw_error *error) {
    size_t n = run->last - run->first + 1, seen = 0;
    double *scratch = malloc(n * sizeof *scratch);
    *along = (struct cw_along){n, malloc(n * sizeof(double)), malloc(n * sizeof(double)), NAN, NAN};
    if (!scratch || !along->road_m || !along->s_m) {
        free(scratch);
        cw_along_free(along);
        return cw_error_memory(error);
    }
    for (size_t i = 0; i < n; i++) {
        size_t at = run->first + i;
        along->s_m[i] = motion->distance_m[at] - motion->distance_m[run->first];
        along->road_m[i] = NAN;
        double latitude = recording->samples.latitude_deg[at];
        double longitude = recording->samples.longitude_deg[at], east, north, left;
        if (trace->n < 2 || !isfinite(latitude) || !isfinite(longitude)) continue;
        cw_metric_to_plane(&road->metric, latitude, longitude, &east, &north);
        double at_m = run->reversed ? trace->length_m - along->s_m[i] : along->s_m[i];
        double s = trace->shift_m + trace->scale * at_m;
        cw_line_project(line, east, north, s, REACH_M, SLACK_M, &along->road_m[i], &left);
        if (run->reversed) along->road_m[i] = line->s_m[line->n - 1] - along->road_m[i];
        scratch[seen++] = along->road_m[i] - along->s_m[i];
    }
    if (seen > 0) {
        double middle = cw_median(scratch, seen), sum = 0.0, square = 0.0, count = 0.0;
        double spread = 0.0;
        for (size_t i = 0; i < seen; i++) scratch[i] = fabs(scratch[i] - middle);
        spread = fmax(OUTLIER * 1.4826 * cw_median(scratch, seen), 1.0);
        for (size_t i = 0; i < n; i++) {
            double off = along->road_m[i] - along->s_m[i] - middle;
            if (!(fabs(off) <= spread)) continue;
            sum += off;
            square += off * off;
            count += 1.0;
        }
        double shift = middle + sum / count;
        along->tie_sd_m = sqrt(fmax(0.0, square / count - sum / count * (sum / count)));
        along->scale = trace->scale;
        for (size_t i = 0; i < n; i++) along->s_m[i] += shift;
    }
    free(scratch);
    return CW_OK;
}

static bool is_member(const struct cw_run *run, size_t road) {
    return run->kept && run->road == road;
}

/* The plane of the road: at the first position of a run of it, at that height. */
static struct cw_metric plane(const struct cw_recording *recordings, const struct cw_runs *runs,
                              size_t road) {
    for (size_t r = 0; r < runs->n; r++) {
        const struct cw_run *run = &runs->at[r];
        const struct cw_samples *samples = &recordings[run->recording].samples;
        for (size_t i = run->first; is_member(run, road) && i <= run->last; i++) {
            if (!isfinite(samples->latitude_deg[i]) || !isfinite(samples->longitude_deg[i]))
                continue;
            struct cw_metric metric =
                cw_metric_make(samples->latitude_deg[i], samples->longitude_deg[i]);
            if (isfinite(samples->elevation_m[i]))
                cw_metric_raise(&metric, samples->elevation_m[i]);
            return metric;
        }
    }
    return (struct cw_metric){0};
}

enum cw_status cw_road_make(const struct cw_recording *recordings, const struct cw_motion *motions,
                            const struct cw_runs *runs, size_t road, struct cw_road *result,
                            struct cw_along *along, struct cw_error *error) {
    *result = (struct cw_road){.metric = plane(recordings, runs, road)};
    size_t members = 0, k = 0;
    for (size_t r = 0; r < runs->n; r++) members += is_member(&runs->at[r], road) ? 1 : 0;
    if (members == 0)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "no run on road %zu", road);
    enum cw_status status = CW_OK;
    struct cw_line line = {0};
    size_t placed = 0; /* runs looked at whose along is filled */
    struct trace *traces = calloc(members, sizeof *traces);
    if (!traces) return cw_error_memory(error);
    for (size_t r = 0; r < runs->n; r++) {
        const struct cw_run *run = &runs->at[r];
        if (!is_member(run, road)) continue;
        status = trace_make(&recordings[run->recording], &motions[run->recording], run,
                            &result->metric, &traces[k++], error);
        if (status != CW_OK) goto cleanup;
    }
    if ((status = lay(traces, members, &line, &result->spread_m, error)) != CW_OK) goto cleanup;
    k = 0;
    for (; placed < runs->n; placed++) {
        const struct cw_run *run = &runs->at[placed];
        if (!is_member(run, road)) continue;
        status = place(&recordings[run->recording], &motions[run->recording], run, result, &line,
                       &traces[k++], &along[placed], error);
        if (status != CW_OK) goto cleanup;
    }
    result->n = line.n;
    result->s_m = line.s_m;
    result->east_m = line.east_m;
    result->north_m = line.north_m;
    line = (struct cw_line){0};
cleanup:
    if (status != CW_OK)
        for (size_t r = 0; r < placed; r++)
            if (is_member(&runs->at[r], road)) cw_along_free(&along[r]);
    for (size_t t = 0; t < members; t++) trace_free(&traces[t]);
    free(traces);
    cw_line_free(&line);
    return status;
}

void cw_road_free(struct cw_road *road) {
    free(road->s_m);
    free(road->east_m);
    free(road->north_m);
    *road = (struct cw_road){0};
}

void cw_along_free(struct cw_along *along) {
    free(along->road_m);
    free(along->s_m);
    *along = (struct cw_along){0};
}

double cw_road_curvature(const struct cw_road *road, double s_m) {
    const double reach_m = 15.0;
    const struct cw_line line = {road->n, road->s_m, road->east_m, road->north_m};
    double east[3], north[3];
    if (road->n < 2 || s_m < 0 || s_m > road->s_m[road->n - 1]) return 0;
    s_m = fmin(fmax(s_m, reach_m), fmax(reach_m, road->s_m[road->n - 1] - reach_m));
    for (int k = 0; k < 3; k++) cw_line_at(&line, s_m + (k - 1) * reach_m, &east[k], &north[k]);
    double before_east = east[1] - east[0], before_north = north[1] - north[0],
           after_east = east[2] - east[1], after_north = north[2] - north[1];
    double turn = atan2(before_east * after_north - before_north * after_east,
                        before_east * after_east + before_north * after_north);
    return fabs(turn) / reach_m;
}
