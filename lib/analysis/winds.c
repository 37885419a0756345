#include "analysis/winds.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/print.h"
#include "outing/air_log.h"

/* A heading is taken over so many samples either way. */
enum { AHEAD = 5 };

/* Clockwise from north, rad; NaN without positions. */
static double heading_at(const struct cw_motion *motion, const struct cw_run *run, size_t j) {
    size_t a = j >= run->first + AHEAD ? j - AHEAD : run->first;
    size_t b = j + AHEAD <= run->last ? j + AHEAD : run->last;
    while (a < j && isnan(motion->east_m[a] + motion->north_m[a])) a++;
    while (b > j && isnan(motion->east_m[b] + motion->north_m[b])) b--;
    double east = motion->east_m[b] - motion->east_m[a],
           north = motion->north_m[b] - motion->north_m[a];
    return hypot(east, north) > 1 ? atan2(east, north) : NAN;
}

/* The means over a run that tell what its drag was: of the wind by speed and way, of the square of
 * the crosswind by way. */
static void log_run(const struct cw_air_log *log, const struct cw_motion *motion,
                    const struct cw_samples *samples, struct cw_run *run) {
    double with_wind = 0, weight = 0, cross = 0, way = 0, whole = 0;
    bool along_road = log->wind_along_ms != NULL;
    for (size_t j = run->first + 1; j <= run->last; j++) {
        double ds = motion->distance_m[j] - motion->distance_m[j - 1], along, across;
        double v = motion->speed_ms[j], heading = along_road ? 0 : heading_at(motion, run, j);
        if (!isfinite(ds * v)) continue;
        whole += ds;
        if (!isfinite(heading)) continue;
        if (!cw_air_log_wind(log, samples->time_s[j], heading, &along, &across)) continue;
        /* By the road's way: one along the road is so already, one by heading is the rider's. */
        if (!along_road && run->reversed) along = -along;
        with_wind += along * v * ds;
        weight += v * ds;
        cross += across * across * ds;
        way += ds;
    }
    if (!(way >= CW_AIR_LOG_ENOUGH * whole) || !(weight > 0)) return;
    run->logged.wind_ms = with_wind / weight;
    run->logged.cross_ms = sqrt(cross / way);
}

enum cw_status cw_analysed_log(struct cw_analysed *of, struct cw_error *error) {
    size_t kept = 0;
    if (!of->log) return CW_OK;
    double *from_s = malloc(2 * (of->runs.n + 1) * sizeof *from_s);
    if (!from_s) return cw_error_memory(error);
    double *to_s = from_s + of->runs.n;
    of->log_covers = 0;
    for (size_t i = 0; i < of->runs.n; i++) {
        struct cw_run *run = &of->runs.at[i];
        run->logged = (struct cw_logged){NAN, NAN};
        if (!run->kept) continue;
        from_s[kept] = run->start_s;
        to_s[kept] = run->start_s + run->duration_s;
        if (cw_air_log_share(of->log, from_s[kept], to_s[kept]) >= CW_AIR_LOG_ENOUGH)
            of->log_covers++;
        kept++;
        if (cw_air_log_has_wind(of->log))
            log_run(of->log, &of->motions[run->recording], &of->recordings[run->recording].samples,
                    run);
    }
    of->log_shift_h = of->log_covers ? 0 : cw_air_log_shift_h(of->log, from_s, to_s, kept);
    free(from_s);
    return CW_OK;
}

/* In place of the sentence of the default. */
static enum cw_status say(struct cw_outing *outing, const char *by, struct cw_error *error) {
    static const char start[] = "[air] wind_along_ms:";
    for (size_t i = 0; i < outing->n_defaults; i++) {
        if (strncmp(outing->defaults[i], start, strlen(start))) continue;
        char sentence[128];
        if (by)
            cw_print(sentence, sizeof sentence, "%s %.2f m/s, the mean of %s", start,
                     outing->wind_along_ms, by);
        else
            cw_print(sentence, sizeof sentence, "%s 0 m/s", start);
        char *copy = strdup(sentence);
        if (!copy) return cw_error_memory(error);
        free(outing->defaults[i]);
        outing->defaults[i] = copy;
    }
    return CW_OK;
}

/* On several roads, which lie to the wind each in its way, a mean along them is of none. */
static bool on_one_road(const struct cw_runs *runs) {
    for (size_t i = 0; i < runs->n; i++)
        if (runs->at[i].kept && runs->at[i].road != CW_ROAD_MAIN) return false;
    return true;
}

enum cw_status cw_analysed_tell_wind(struct cw_analysed *of, const struct cw_fit *fit, bool *moved,
                                     struct cw_error *error) {
    static const char *const names[CW_WIND_SEEN] = {"the notes", "the air log"};
    const char *by = NULL;
    bool refused = false;
    double before_ms = of->outing.wind_along_ms, wind_ms = 0;
    *moved = false;
    if (of->outing.wind_given || !on_one_road(&of->runs)) return CW_OK;
    for (int who = 0; who < CW_WIND_SEEN && !by; who++) {
        enum cw_wind_use use = fit ? fit->wind_use[who] : CW_WIND_USED;
        double sum = 0, n = 0;
        for (size_t i = 0; i < of->runs.n; i++) {
            const struct cw_run *run = &of->runs.at[i];
            double seen_ms = who == CW_WIND_LOGGED ? run->logged.wind_ms : run->noted.wind_ms;
            if (!run->kept || isnan(seen_ms)) continue;
            sum += seen_ms;
            n++;
        }
        if (!(n > 0)) continue;
        if (use == CW_WIND_AGAINST || use == CW_WIND_UNRELATED) {
            refused = true;
            continue;
        }
        wind_ms = sum / n;
        by = names[who];
    }
    *moved = (by || refused) && wind_ms != before_ms;
    if (!*moved) return CW_OK;
    of->outing.wind_along_ms = wind_ms;
    return say(&of->outing, by, error);
}
