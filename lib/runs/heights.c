#include "runs/heights.h"

#include <math.h>

#include "runs/relief.h"

enum { LATEST_S = 6, LEAST_COMPARED = 100 };
/* Mean squares must fall by so much for the lateness to be more than chance. */
static const double least_gain = 1.05;

/* The height at a time, straight between samples; NaN outside and across gaps. *from: where to look
 * first, and where it was found. */
static double height_at(const double *time_s, const struct cw_motion *m, double at_s,
                        size_t *from) {
    size_t i = *from;
    while (i + 2 < m->n && time_s[i + 1] <= at_s) i++;
    *from = i;
    if (i + 1 >= m->n || time_s[i] > at_s || time_s[i + 1] < at_s || m->gap_before[i + 1])
        return NAN;
    double part = (at_s - time_s[i]) / (time_s[i + 1] - time_s[i]);
    return m->height_m[i] + part * (m->height_m[i + 1] - m->height_m[i]);
}

/* How far passes are apart when heights come late_s late; NaN if too few can be compared. */
static enum cw_status apart(const struct cw_recording *recordings, const struct cw_motion *motions,
                            const struct cw_passes *passes, double late_s, double *const *height_m,
                            double *apart_m2, struct cw_error *error) {
    for (size_t r = 0; r < passes->n_walks; r++) {
        const double *time_s = recordings[r].samples.time_s;
        size_t from[2] = {0, 0};
        /* The mean of two, so that no lateness falls on the samples themselves, which are rougher
         * than what lies between. */
        for (size_t i = 0; i < motions[r].n; i++)
            height_m[r][i] =
                0.5 * (height_at(time_s, &motions[r], time_s[i] + late_s - 0.5, &from[0]) +
                       height_at(time_s, &motions[r], time_s[i] + late_s + 0.5, &from[1]));
    }
    struct cw_relief relief;
    size_t compared = 0;
    enum cw_status status = cw_relief_make(recordings, motions, height_m, passes, &relief, error);
    if (status == CW_OK) *apart_m2 = cw_relief_apart(&relief, motions, height_m, passes, &compared);
    if (compared < LEAST_COMPARED) *apart_m2 = NAN;
    cw_relief_free(&relief);
    return status;
}

enum cw_status cw_heights_late(const struct cw_recording *recordings,
                               const struct cw_motion *motions, const struct cw_passes *passes,
                               double *const *height_m, double *late_s, struct cw_error *error) {
    double by[LATEST_S + 1], early = NAN;
    int best = 0;
    enum cw_status status = CW_OK;
    *late_s = 0;
    for (int late = 0; late <= LATEST_S && status == CW_OK; late++) {
        status = apart(recordings, motions, passes, late, height_m, &by[late], error);
        if (isnan(by[0])) return status;
        if (by[late] < by[best]) best = late;
        if (by[late] > least_gain * by[best]) break;
    }
    if (status != CW_OK || best == 0 || best == LATEST_S || !(by[0] > least_gain * by[best]))
        return status;
    /* What falls on either side is the noise of heights, smoothed between samples. */
    status = apart(recordings, motions, passes, -best, height_m, &early, error);
    /* The lowest point of a parabola through the best and its neighbours. */
    double before = by[best - 1] - by[best], after = by[best + 1] - by[best];
    if (early > by[0]) *late_s = best + 0.5 * (before - after) / (before + after);
    return status;
}

void cw_heights_in_time(const double *time_s, const struct cw_motion *motion, double late_s,
                        double *height_m) {
    const double *height = motion->height_m;
    size_t from = 0, last = 0; /* last: of the part that sample i is in */
    for (size_t i = 0; i < motion->n; i++) {
        if (last < i) last = i;
        while (last + 1 < motion->n && !motion->gap_before[last + 1]) last++;
        height_m[i] = height[i];
        if (!(late_s > 0) || isnan(height[i]) || i == last) continue;
        double later = height_at(time_s, motion, fmin(time_s[i] + late_s, time_s[last]), &from);
        if (isfinite(later)) height_m[i] = later;
    }
}
