#include "motion/height.h"

#include <math.h>
#include <stdlib.h>

#include "stats/robust.h"

#define FILL_S 5.0

void cw_height_fill(size_t n, const double *time_s, const double *elevation_m,
                    const bool *gap_before, double *height_m) {
    size_t known = n; /* the last sample with a height that a gap can be filled from */
    for (size_t i = 0; i < n; i++) {
        height_m[i] = elevation_m[i];
        if (gap_before[i]) known = n;
        if (!isfinite(elevation_m[i])) continue;
        if (known < n && known + 1 < i && time_s[i] - time_s[known] <= FILL_S)
            for (size_t j = known + 1; j < i; j++)
                height_m[j] = elevation_m[known] + (elevation_m[i] - elevation_m[known]) *
                                                       (time_s[j] - time_s[known]) /
                                                       (time_s[i] - time_s[known]);
        known = i;
    }
}

double cw_height_step(size_t n, const double *elevation_m) {
    static const double steps_m[] = {5.0, 2.0, 1.0, 0.5, 0.4, 0.3048, 0.3, 0.25, 0.2, 0.1};
    const size_t count = sizeof steps_m / sizeof *steps_m;
    size_t moves = 0, whole[sizeof steps_m / sizeof *steps_m] = {0};
    double before = NAN;
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(elevation_m[i])) continue;
        double move = fabs(elevation_m[i] - before);
        before = elevation_m[i];
        /* Equal heights say nothing, and rounding in the file can leave millimetres. */
        if (!(move > 0.02)) continue;
        moves++;
        for (size_t k = 0; k < count; k++)
            if (fabs(remainder(move, steps_m[k])) < fmin(0.011, 0.06 * steps_m[k])) whole[k]++;
    }
    if (moves < 20) return 0.0;
    for (size_t k = 0; k < count; k++)
        if ((double)whole[k] >= 0.95 * (double)moves) return steps_m[k];
    return 0.0;
}

/* Straight line through y against x over [first, last]; the slope, or NaN. */
static double line_slope(const double *x, const double *y, size_t first, size_t last,
                         double *at_middle, double middle) {
    double count = (double)(last - first + 1), mean_x = 0.0, mean_y = 0.0, xx = 0.0, xy = 0.0;
    for (size_t i = first; i <= last; i++) {
        mean_x += x[i] / count;
        mean_y += y[i] / count;
    }
    for (size_t i = first; i <= last; i++) {
        xx += (x[i] - mean_x) * (x[i] - mean_x);
        xy += (x[i] - mean_x) * (y[i] - mean_y);
    }
    double slope = xx > 0.0 ? xy / xx : NAN;
    if (at_middle) *at_middle = mean_y + slope * (middle - mean_x);
    return slope;
}

enum cw_status cw_height_sd(size_t n, const double *time_s, const double *height_m,
                            const bool *gap_before, double step_m, double *sd_m,
                            struct cw_error *error) {
    double least = fmax(step_m / sqrt(12.0), 0.02), sd = 0.0;
    double *off = malloc((n ? n : 1) * sizeof *off);
    if (!off) return cw_error_memory(error);
    size_t kept = 0, whole = 0; /* samples in a row, without a gap, up to i */
    for (size_t i = 0; i < n; i++) {
        whole = gap_before[i] ? 1 : whole + 1;
        if (!isfinite(height_m[i])) whole = 0;
        if (whole < 7) continue;
        double line;
        line_slope(time_s, height_m, i - 6, i, &line, time_s[i - 3]);
        if (isfinite(line)) off[kept++] = fabs(height_m[i - 3] - line);
    }
    /* Of 7 equally spaced points the middle one keeps 6/7 of its variance about their line. */
    if (kept >= 20) sd = 1.4826 * cw_median(off, kept) / sqrt(6.0 / 7.0);
    free(off);
    *sd_m = fmax(sd, least);
    return CW_OK;
}

void cw_height_slope(size_t n, const double *distance_m, const double *height_m,
                     const bool *gap_before, double half_width_m, double *slope) {
    size_t part_first = 0, part_last = 0;
    for (size_t i = 0; i < n; i++) {
        slope[i] = NAN;
        bool here = isfinite(height_m[i]) && isfinite(distance_m[i]);
        if (!here) continue;
        if (i == 0 || gap_before[i] || !isfinite(height_m[i - 1])) part_first = i;
        if (part_last < i) part_last = i;
        while (part_last + 1 < n && !gap_before[part_last + 1] &&
               isfinite(height_m[part_last + 1]) &&
               (part_last < i + 2 || distance_m[part_last + 1] - distance_m[i] <= half_width_m))
            part_last++;
        size_t first = i;
        while (first > part_first &&
               (first + 2 > i || distance_m[i] - distance_m[first - 1] <= half_width_m))
            first--;
        if (distance_m[part_last] - distance_m[first] < 5.0) continue;
        slope[i] = line_slope(distance_m, height_m, first, part_last, NULL, 0.0);
    }
}
