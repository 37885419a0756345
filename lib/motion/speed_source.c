#include "motion/speed_source.h"

#include <math.h>
#include <stdlib.h>

#include "motion/lateness.h"
#include "motion/metric.h"
#include "stats/robust.h"

#define MOST_SPEED_MS 40.0
#define FROZEN_S 5.0
/* A wheel's speed, averaged by the device, is late by up to a second; one made of positions by 2 to
 * 3 s, and the positions themselves then say more. */
#define MOST_LATE_S 1.5

static void clean_speed(const struct cw_samples *samples, double *speed_ms) {
    size_t same = 0, pairs = 0;
    for (size_t i = 0; i < samples->n; i++) {
        double v = samples->speed_ms[i];
        speed_ms[i] = v >= 0.0 && v <= MOST_SPEED_MS ? v : NAN;
        if (i > 0 && speed_ms[i] > 1.0 && speed_ms[i - 1] > 1.0) {
            pairs++;
            if (speed_ms[i] == speed_ms[i - 1]) same++;
        }
    }
    /* In a column of coarse steps a value that stays is not a frozen one. */
    if (same * 4 > pairs) return;
    for (size_t i = 0; i < samples->n;) {
        size_t end = i + 1;
        while (end < samples->n && samples->speed_ms[end] == samples->speed_ms[i]) end++;
        if (speed_ms[i] > 1.0 && samples->time_s[end - 1] - samples->time_s[i] >= FROZEN_S)
            for (size_t j = i + 1; j < end; j++) speed_ms[j] = NAN;
        i = end;
    }
}

static void clean_distance(const struct cw_samples *samples, double *distance_m, bool *restarts) {
    const double *d = samples->distance_m;
    size_t last = samples->n; /* the last sample that has a distance */
    for (size_t i = 0; i < samples->n; i++) {
        distance_m[i] = d[i];
        restarts[i] = false;
        if (!isfinite(d[i])) continue;
        if (last < samples->n) {
            double dt = samples->time_s[i] - samples->time_s[last], move = d[i] - d[last];
            /* 3 m of going back is rounding of a count taken from positions. */
            restarts[i] = move < -3.0 || move > MOST_SPEED_MS * (dt + 5.0);
        }
        last = i;
    }
    for (size_t i = 0; i < samples->n;) {
        size_t end = i + 1;
        while (end < samples->n && !restarts[end] && d[end] == d[i]) end++;
        if (samples->time_s[end - 1] - samples->time_s[i] <= CW_GAP_S)
            for (size_t j = i + 1; j < end; j++) distance_m[j] = NAN;
        i = end;
    }
}

/* Way made between samples a and b by the column, or NaN: from distances, else by summing speeds.
 */
static double column_way(const struct cw_samples *samples, const double *speed_ms,
                         const double *distance_m, size_t a, size_t b) {
    if (distance_m) return distance_m[b] - distance_m[a];
    double way = 0.0;
    for (size_t i = a + 1; i <= b; i++)
        way +=
            0.5 * (speed_ms[i] + speed_ms[i - 1]) * (samples->time_s[i] - samples->time_s[i - 1]);
    return way;
}

static double position_way(const struct cw_samples *samples, size_t a, size_t b) {
    double way = 0.0;
    for (size_t i = a + 1; i <= b; i++)
        way += cw_metric_distance(samples->latitude_deg[i - 1], samples->longitude_deg[i - 1],
                                  samples->latitude_deg[i], samples->longitude_deg[i]);
    return way;
}

/* *alive: whether the column is there and goes as the positions go. */
static enum cw_status see_alive(const struct cw_recording *recording, const double *speed_ms,
                                const double *distance_m, const bool *restarts, bool *alive,
                                struct cw_error *error) {
    const struct cw_samples *samples = &recording->samples;
    const double *raw = distance_m ? samples->distance_m : speed_ms;
    size_t there = 0, compared = 0;
    for (size_t i = 0; i < samples->n; i++) there += isfinite(raw[i]) ? 1 : 0;
    *alive = there * 10 >= samples->n * 8 && there >= 10;
    if (!*alive || !recording->has_position) return CW_OK;
    double *ratio = malloc(samples->n * sizeof *ratio);
    if (!ratio) return cw_error_memory(error);
    for (size_t a = 0, b = 0; b < samples->n; b++) {
        if (samples->break_before[b] || (restarts && restarts[b]) ||
            (b > 0 && samples->time_s[b] - samples->time_s[b - 1] > CW_GAP_S))
            a = b;
        if (samples->time_s[b] - samples->time_s[a] < 30.0) continue;
        double way = column_way(samples, speed_ms, distance_m, a, b);
        double straight = position_way(samples, a, b);
        if (isfinite(way) && straight > 60.0) ratio[compared++] = way / straight;
        a = b;
    }
    double median = cw_median(ratio, compared);
    /* A device that froze half of the time would still pass by its median. */
    double low = cw_quantile(ratio, compared, 0.2);
    free(ratio);
    *alive = compared < 3 || (fabs(median - 1.0) < 0.2 && low > 0.5);
    return CW_OK;
}

/* *late: whether the column is later than the positions, and so made of them. */
static enum cw_status see_late(const struct cw_recording *recording, const double *speed_ms,
                               const double *distance_m, const bool *restarts, bool *late,
                               struct cw_error *error) {
    const struct cw_samples *samples = &recording->samples;
    *late = false;
    if (!recording->has_position) return CW_OK;
    double *way = malloc(samples->n * sizeof *way), late_s = NAN;
    bool *anew = calloc(samples->n, sizeof *anew);
    for (size_t i = 0; way && anew && i < samples->n; i++) {
        if (distance_m) {
            way[i] = distance_m[i];
            anew[i] = restarts[i];
            continue;
        }
        double more = i ? column_way(samples, speed_ms, NULL, i - 1, i) : 0;
        anew[i] = !isfinite(more);
        way[i] = isfinite(speed_ms[i]) ? (anew[i] || !i ? 0 : way[i - 1] + more) : NAN;
    }
    enum cw_status status =
        way && anew ? cw_lateness(samples, way, anew, &late_s, error) : cw_error_memory(error);
    *late = late_s > MOST_LATE_S;
    free(way);
    free(anew);
    return status;
}

/* *good: whether the column, which is there, is of use. */
static enum cw_status judge(const struct cw_recording *recording, const double *speed_ms,
                            const double *distance_m, const bool *restarts, bool *good,
                            struct cw_error *error) {
    bool late = false;
    enum cw_status status = see_alive(recording, speed_ms, distance_m, restarts, good, error);
    if (!status && *good)
        status = see_late(recording, speed_ms, distance_m, restarts, &late, error);
    *good = *good && !late;
    return status;
}

enum cw_status cw_speed_source_choose(const struct cw_recording *recording, double *speed_ms,
                                      double *distance_m, bool *distance_restarts,
                                      enum cw_speed_source *source, struct cw_error *error) {
    const struct cw_samples *samples = &recording->samples;
    enum cw_status status = CW_OK;
    bool speed = false, distance = false;
    clean_speed(samples, speed_ms);
    clean_distance(samples, distance_m, distance_restarts);
    if (recording->has_speed) status = judge(recording, speed_ms, NULL, NULL, &speed, error);
    if (!status && recording->has_distance && !speed)
        status = judge(recording, NULL, distance_m, distance_restarts, &distance, error);
    if (speed)
        *source = CW_SPEED_DEVICE;
    else if (distance)
        *source = CW_SPEED_DISTANCE;
    else if (recording->has_position)
        *source = CW_SPEED_POSITION;
    else
        *source = recording->has_speed ? CW_SPEED_DEVICE : CW_SPEED_DISTANCE;
    return status;
}
