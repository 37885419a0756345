#include "analysis/wake.h"

#include <math.h>
#include <stdlib.h>

static const double most_share = 0.1;
enum { AHEAD = 3 }; /* samples that a direction is taken over */

/* Where a rider was at a time, in the plane of a metric; false where that is not known. *at is
 * where the last search ended. */
static bool place_at(const struct cw_recording *recording, const struct cw_metric *metric,
                     double time_s, size_t *at, double *east_m, double *north_m) {
    const struct cw_samples *s = &recording->samples;
    while (*at + 1 < s->n && s->time_s[*at + 1] <= time_s) ++*at;
    if (*at + 1 >= s->n || s->time_s[*at] > time_s) return false;
    double span = s->time_s[*at + 1] - s->time_s[*at];
    if (!(span > 0) || span > 10) return false;
    double part = (time_s - s->time_s[*at]) / span, east[2], north[2];
    for (size_t k = 0; k < 2; k++)
        cw_metric_to_plane(metric, s->latitude_deg[*at + k], s->longitude_deg[*at + k], &east[k],
                           &north[k]);
    *east_m = east[0] + part * (east[1] - east[0]);
    *north_m = north[0] + part * (north[1] - north[0]);
    return isfinite(*east_m + *north_m);
}

/* The share of the drag's work of a run that was done close behind another's rider. */
static double share_behind(const struct cw_analysed *of, const struct cw_run *run,
                           const struct cw_run *other) {
    const struct cw_motion *motion = &of->motions[run->recording];
    const double *time_s = of->recordings[run->recording].samples.time_s;
    size_t at = 0;
    double behind = 0, all = 0;
    for (size_t j = run->first + 1; j <= run->last; j++) {
        double east, north, v = motion->speed_ms[j];
        double work = v * v * (motion->distance_m[j] - motion->distance_m[j - 1]);
        if (!isfinite(work)) continue;
        all += work;
        if (!place_at(&of->recordings[other->recording], &motion->metric, time_s[j], &at, &east,
                      &north))
            continue;
        size_t a = j >= run->first + AHEAD ? j - AHEAD : run->first;
        size_t b = j + AHEAD <= run->last ? j + AHEAD : run->last;
        double to_east = east - motion->east_m[j], to_north = north - motion->north_m[j];
        double ahead = to_east * (motion->east_m[b] - motion->east_m[a]) +
                       to_north * (motion->north_m[b] - motion->north_m[a]);
        if (ahead > 0 && hypot(to_east, to_north) < CW_WAKE_M) behind += work;
    }
    return all > 0 ? behind / all : 0;
}

enum cw_status cw_analysed_turn_down_wakes(struct cw_analysed *of, struct cw_error *error) {
    const struct cw_runs *runs = &of->runs;
    if (!of->outing.n_companions) return CW_OK;
    bool *wake = calloc(runs->n + 1, sizeof *wake);
    if (!wake) return cw_error_memory(error);
    for (size_t i = 0; i < runs->n; i++)
        for (size_t j = 0; j < runs->n; j++) {
            const struct cw_run *run = &runs->at[i], *other = &runs->at[j];
            if (!run->kept || !other->kept ||
                cw_outing_rider_of(&of->outing, run->recording) ==
                    cw_outing_rider_of(&of->outing, other->recording) ||
                run->start_s > other->start_s + other->duration_s ||
                other->start_s > run->start_s + run->duration_s)
                continue;
            wake[i] = wake[i] || share_behind(of, run, other) >= most_share;
        }
    for (size_t i = 0; i < runs->n; i++) {
        if (!wake[i]) continue;
        runs->at[i].kept = false;
        runs->at[i].reasons |= CW_REASON_WAKE;
    }
    free(wake);
    return CW_OK;
}
