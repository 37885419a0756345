#include "motion/motion.h"

#include <math.h>
#include <stdlib.h>

#include "base/text.h"
#include "motion/height.h"
#include "motion/smoother.h"
#include "motion/speed_source.h"
#include "stats/robust.h"

/* Bounds of the white errors: a device's speed, a counted distance, a position. */
#define SPEED_LOW_SD_MS 0.01
#define SPEED_HIGH_SD_MS 1.0
#define DISTANCE_LOW_SD_M 0.05
#define DISTANCE_HIGH_SD_M 5.0
#define POSITION_LOW_SD_M 0.05
#define POSITION_HIGH_SD_M 10.0

static enum cw_status allocate(struct cw_motion *motion, size_t n, struct cw_error *error) {
    double **columns[] = {&motion->speed_ms,       &motion->distance_m, &motion->acceleration_ms2,
                          &motion->speed_error_ms, &motion->east_m,     &motion->north_m,
                          &motion->height_m,       &motion->slope};
    *motion = (struct cw_motion){.n = n};
    for (size_t c = 0; c < sizeof columns / sizeof *columns; c++)
        if (!(*columns[c] = malloc((n ? n : 1) * sizeof(double)))) return cw_error_memory(error);
    if (!(motion->gap_before = calloc(n ? n : 1, sizeof *motion->gap_before)))
        return cw_error_memory(error);
    return CW_OK;
}

void cw_motion_free(struct cw_motion *motion) {
    free(motion->speed_ms);
    free(motion->distance_m);
    free(motion->acceleration_ms2);
    free(motion->speed_error_ms);
    free(motion->east_m);
    free(motion->north_m);
    free(motion->height_m);
    free(motion->slope);
    free(motion->gap_before);
    *motion = (struct cw_motion){0};
}

/* Middle height of the recording, for the length of a degree up there; 0 if it has none. room: for
 * a height a sample. */
static double middle_height(const struct cw_samples *samples, double *room) {
    size_t n = 0;
    for (size_t i = 0; i < samples->n; i++)
        if (isfinite(samples->elevation_m[i])) room[n++] = samples->elevation_m[i];
    return n > 0 ? cw_median(room, n) : 0.0;
}

static void lay_plane(const struct cw_samples *samples, double *room, struct cw_motion *motion) {
    size_t first = 0;
    while (first < samples->n &&
           !(isfinite(samples->latitude_deg[first]) && isfinite(samples->longitude_deg[first])))
        first++;
    if (first < samples->n) {
        motion->metric =
            cw_metric_make(samples->latitude_deg[first], samples->longitude_deg[first]);
        cw_metric_raise(&motion->metric, middle_height(samples, room));
    }
    for (size_t i = 0; i < samples->n; i++) {
        motion->east_m[i] = motion->north_m[i] = NAN;
        if (isfinite(samples->latitude_deg[i]) && isfinite(samples->longitude_deg[i]))
            cw_metric_to_plane(&motion->metric, samples->latitude_deg[i], samples->longitude_deg[i],
                               &motion->east_m[i], &motion->north_m[i]);
    }
}

/* Gaps between samples of the speed source itself: a hole in its column is a gap too. */
static void find_gaps(const struct cw_samples *samples, const double *source,
                      const bool *source_restarts, bool *gap_before) {
    double seen_s = NAN;
    for (size_t i = 0; i < samples->n; i++) {
        gap_before[i] = samples->break_before[i] || (source_restarts && source_restarts[i]) ||
                        (i > 0 && samples->time_s[i] - samples->time_s[i - 1] > CW_GAP_S);
        if (!isfinite(source[i])) continue;
        if (samples->time_s[i] - seen_s > CW_GAP_S) gap_before[i] = true;
        seen_s = samples->time_s[i];
    }
}

/* Speed is unknown where the smoother has to look ahead to, or back at, its last observation by
 * more than a gap's length. */
static void clear_holes(const struct cw_samples *samples, const double *source,
                        const bool *gap_before, double *speed_ms) {
    double seen_s = NAN;
    for (size_t i = 0; i < samples->n; i++) {
        if (gap_before[i]) seen_s = NAN;
        if (isfinite(source[i])) seen_s = samples->time_s[i];
        if (!(samples->time_s[i] - seen_s <= CW_GAP_S)) speed_ms[i] = NAN;
    }
}

/* Speed and acceleration along the road from smoothed velocities east and north. Their errors make
 * a speed at standstill, sqrt of a sum of squares, too large; the expected excess is taken off. */
static void from_velocity(const struct cw_samples *samples, const struct cw_smoother_result *result,
                          struct cw_motion *motion) {
    double scale = NAN;
    for (size_t i = 0; i < samples->n; i++) {
        if (isfinite(samples->latitude_deg[i]))
            scale = cw_metric_east_scale(&motion->metric, samples->latitude_deg[i]);
        double east = result->rate[0][i] * scale, north = result->rate[1][i];
        double sd = result->rate_sd[i], square = east * east + north * north;
        double along =
            (result->acceleration[0][i] * scale * east + result->acceleration[1][i] * north) /
            sqrt(fmax(square, sd * sd + 1e-12));
        motion->speed_ms[i] = isnan(square) ? NAN : sqrt(fmax(0.0, square - 2.0 * sd * sd));
        motion->acceleration_ms2[i] = along;
        motion->speed_error_ms[i] = sd;
    }
}

/* A count that is shorter than this part of the straight way has stood still. */
#define LEAST_COUNTED 0.9

/* The way from the last sample known to sample i, over a gap: as the device has counted it, which
 * goes round bends; else straight. counted, placed: the last samples with a count and a position;
 * n: none. */
static double way_over(const struct cw_samples *samples, const struct cw_motion *motion,
                       const double *count_m, size_t counted, size_t placed, size_t i) {
    double straight = 0.0, count = 0.0;
    if (isfinite(motion->east_m[i]) && placed < motion->n)
        straight = cw_metric_distance(samples->latitude_deg[placed], samples->longitude_deg[placed],
                                      samples->latitude_deg[i], samples->longitude_deg[i]);
    if (isfinite(count_m[i]) && counted < motion->n) count = count_m[i] - count_m[counted];
    return count > LEAST_COUNTED * straight ? count : straight;
}

/* Integrates the smooth speed with its slope at both ends (Hermite: right for samples seconds
 * apart, where the trapezium is not). */
static void integrate(const struct cw_samples *samples, const double *count_m, const bool *restarts,
                      struct cw_motion *motion) {
    double s = 0.0;
    size_t placed = motion->n, counted = motion->n;
    for (size_t i = 0; i < motion->n; i++) {
        if (restarts[i]) counted = motion->n;
        if (i > 0) {
            double dt = samples->time_s[i] - samples->time_s[i - 1];
            double way =
                0.5 * dt * (motion->speed_ms[i - 1] + motion->speed_ms[i]) +
                dt * dt / 12.0 * (motion->acceleration_ms2[i - 1] - motion->acceleration_ms2[i]);
            if (motion->gap_before[i] || isnan(way))
                way = way_over(samples, motion, count_m, counted, placed, i);
            s += fmax(0.0, way);
        }
        motion->distance_m[i] = s;
        if (isfinite(motion->east_m[i])) placed = i;
        if (isfinite(count_m[i])) counted = i;
    }
}

static enum cw_status smooth(const struct cw_samples *samples, const double *source,
                             struct cw_motion *motion, struct cw_error *error) {
    size_t n = motion->n;
    enum cw_status status = CW_OK;
    struct cw_smoother_noise noise;
    struct cw_smoother_track positions = {.n = n,
                                          .time_s = samples->time_s,
                                          .restart = motion->gap_before,
                                          .channels = 2,
                                          .observed = {motion->east_m, motion->north_m},
                                          .kind = CW_OBSERVED_VALUE,
                                          .robust = true};
    struct cw_smoother_track column = {
        .n = n,
        .time_s = samples->time_s,
        .restart = motion->gap_before,
        .channels = 1,
        .observed = {source, NULL},
        .kind = motion->source == CW_SPEED_DEVICE ? CW_OBSERVED_RATE : CW_OBSERVED_VALUE,
        .robust = motion->source == CW_SPEED_DEVICE};
    /* Velocities north stand for a while where heights and slopes will. */
    struct cw_smoother_result result = {.rate = {motion->speed_ms, motion->height_m},
                                        .acceleration = {motion->acceleration_ms2, motion->slope},
                                        .rate_sd = motion->speed_error_ms};

    struct cw_smoother_noise position_noise = {0};
    status = cw_smoother_estimate(&positions, POSITION_LOW_SD_M, POSITION_HIGH_SD_M,
                                  &position_noise, error);
    bool has_positions = status == CW_OK;
    if (status == CW_E_MEMORY) return status;
    if (has_positions) motion->position_sd_m = position_noise.observation_sd;
    if (motion->source == CW_SPEED_POSITION) {
        if (!has_positions)
            return cw_error_set(error, CW_E_DATA, NULL, 0, "fewer than 10 positions");
        if ((status = cw_smoother_run(&positions, &position_noise, &result, error)) != CW_OK)
            return status;
        from_velocity(samples, &result, motion);
    } else {
        bool device = motion->source == CW_SPEED_DEVICE;
        status =
            cw_smoother_estimate(&column, device ? SPEED_LOW_SD_MS : DISTANCE_LOW_SD_M,
                                 device ? SPEED_HIGH_SD_MS : DISTANCE_HIGH_SD_M, &noise, error);
        if (status == CW_OK) status = cw_smoother_run(&column, &noise, &result, error);
        if (status != CW_OK) return status;
        if (device) motion->speed_sd_ms = noise.observation_sd;
        for (size_t i = 0; i < n; i++)
            if (motion->speed_ms[i] < 0.0) motion->speed_ms[i] = 0.0;
    }
    clear_holes(samples, source, motion->gap_before, motion->speed_ms);
    return CW_OK;
}

static enum cw_status lay_heights(const struct cw_samples *samples, struct cw_motion *motion,
                                  struct cw_error *error) {
    size_t n = motion->n;
    cw_height_fill(n, samples->time_s, samples->elevation_m, motion->gap_before, motion->height_m);
    motion->elevation_step_m = cw_height_step(n, samples->elevation_m);
    enum cw_status status = cw_height_sd(n, samples->time_s, motion->height_m, motion->gap_before,
                                         motion->elevation_step_m, &motion->elevation_sd_m, error);
    cw_height_slope(n, motion->distance_m, motion->height_m, motion->gap_before,
                    fmax(15.0, 30.0 * motion->elevation_step_m), motion->slope);
    return status;
}

static void lay_level(struct cw_motion *motion) {
    for (size_t i = 0; i < motion->n; i++) motion->height_m[i] = motion->slope[i] = 0;
}

static enum cw_status refuse_without_heights(const struct cw_recording *recording,
                                             struct cw_error *error) {
    struct cw_text file = {0};
    cw_text_add_word(&file, recording->file ? recording->file : "RECORDING");
    enum cw_status status = cw_error_set(
        error, CW_E_DATA, recording->file, 0,
        "no elevation in this recording, and coastwise needs the heights; where the road is level, "
        "write elevation = level into the outing file, or type: coastwise start --elevation level "
        "%s",
        file.bytes ? file.bytes : "");
    if (file.failed) status = cw_error_memory(error);
    cw_text_free(&file);
    return status;
}

static enum cw_status make(const struct cw_recording *recording, bool level,
                           struct cw_motion *motion, struct cw_error *error) {
    const struct cw_samples *samples = &recording->samples;
    *motion = (struct cw_motion){0};
    if (!recording->has_elevation && !level) return refuse_without_heights(recording, error);
    if (!recording->has_position && !recording->has_speed && !recording->has_distance)
        return cw_error_set(error, CW_E_DATA, recording->file, 0,
                            "neither positions nor speed nor distance in this recording");
    size_t n = samples->n;
    enum cw_status status = allocate(motion, n, error);
    double *speed_ms = malloc((n ? n : 1) * sizeof *speed_ms);
    double *distance_m = malloc((n ? n : 1) * sizeof *distance_m);
    bool *restarts = malloc((n ? n : 1) * sizeof *restarts);
    if (status != CW_OK || !speed_ms || !distance_m || !restarts) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    lay_plane(samples, speed_ms, motion);
    status =
        cw_speed_source_choose(recording, speed_ms, distance_m, restarts, &motion->source, error);
    if (status != CW_OK) goto cleanup;
    const double *source = motion->source == CW_SPEED_DEVICE     ? speed_ms
                           : motion->source == CW_SPEED_DISTANCE ? distance_m
                                                                 : motion->east_m;
    find_gaps(samples, source, motion->source == CW_SPEED_DISTANCE ? restarts : NULL,
              motion->gap_before);
    if ((status = smooth(samples, source, motion, error)) != CW_OK) {
        if (error && error->file[0] == '\0' && status != CW_E_MEMORY)
            cw_error_set(error, status, recording->file, 0,
                         "too few samples with a position, speed or distance");
        goto cleanup;
    }
    integrate(samples, distance_m, restarts, motion);
    if (level)
        lay_level(motion);
    else
        status = lay_heights(samples, motion, error);
cleanup:
    free(restarts);
    free(distance_m);
    free(speed_ms);
    return status;
}

enum cw_status cw_motion_make(const struct cw_recording *recording, struct cw_motion *motion,
                              struct cw_error *error) {
    return make(recording, false, motion, error);
}

enum cw_status cw_motion_make_level(const struct cw_recording *recording, struct cw_motion *motion,
                                    struct cw_error *error) {
    return make(recording, true, motion, error);
}
