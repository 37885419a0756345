#include "motion/lateness.h"

#include <math.h>
#include <stdlib.h>

#include "motion/metric.h"
#include "motion/speed.h"

/* Ways are compared over 4 s, and where samples are further apart up to 9 s: over shorter ones the
 * positions' error hides it, over longer ones a change of speed does. */
static const double least_apart_s = 4, most_apart_s = 9, least_way_m = 8;
/* What is further off than this is no lateness: a jump, a tight bend. */
static const double most_off_m = 3;
/* Whole seconds: between the samples of most recordings the way is a mean of two, and fits better
 * for having less noise. */
static const double first_s = -2;
enum { LATES = 9, LEAST_COMPARED = 100 };
/* Squares must fall by so much for the lateness to be more than chance and the positions' error. */
static const double least_gain = 1.1;

/* The points of the way that are known, and where it starts anew. */
struct way {
    size_t n;
    double *time_s, *at_m;
    bool *anew;
};

static void way_free(struct way *way) {
    free(way->time_s);
    free(way->anew);
}

static bool way_make(const struct cw_samples *samples, const double *way_m, const bool *new_way,
                     struct way *way) {
    bool anew = false;
    *way = (struct way){.time_s = malloc(2 * (samples->n + 1) * sizeof(double)),
                        .anew = malloc((samples->n + 1) * sizeof(bool))};
    if (!way->time_s || !way->anew) return false;
    way->at_m = way->time_s + samples->n;
    for (size_t i = 0; i < samples->n; i++) {
        anew = anew || new_way[i] || samples->break_before[i];
        if (!isfinite(way_m[i])) continue;
        way->time_s[way->n] = samples->time_s[i];
        way->at_m[way->n] = way_m[i];
        way->anew[way->n] =
            anew || (way->n && samples->time_s[i] - way->time_s[way->n - 1] > CW_GAP_S);
        way->n++;
        anew = false;
    }
    return true;
}

/* The way at a time, NaN off its ends. *from: where to look first, and where it was found. */
static double way_at(const struct way *way, double time_s, size_t *from) {
    size_t i = *from;
    while (i + 1 < way->n && way->time_s[i + 1] <= time_s) i++;
    *from = i;
    if (i + 1 >= way->n || way->time_s[i] > time_s || way->anew[i + 1]) return NAN;
    double part = (time_s - way->time_s[i]) / (way->time_s[i + 1] - way->time_s[i]);
    return way->at_m[i] + part * (way->at_m[i + 1] - way->at_m[i]);
}

/* Distance between the positions of sample i and of the next one that is far enough from it in
 * time; NaN if there is none. *j: that sample. */
static double chord(const struct cw_samples *samples, size_t i, size_t *j) {
    if (!isfinite(samples->latitude_deg[i])) return NAN;
    for (*j = i + 1; *j < samples->n && !samples->break_before[*j]; ++*j) {
        double apart = samples->time_s[*j] - samples->time_s[i];
        if (apart > most_apart_s) return NAN;
        if (apart >= least_apart_s && isfinite(samples->latitude_deg[*j]))
            return cw_metric_distance(samples->latitude_deg[i], samples->longitude_deg[i],
                                      samples->latitude_deg[*j], samples->longitude_deg[*j]);
    }
    return NAN;
}

enum cw_status cw_lateness(const struct cw_samples *samples, const double *way_m,
                           const bool *new_way, double *late_s, struct cw_error *error) {
    struct way way;
    size_t compared = 0, from[2][LATES] = {{0}}, j, best = 0;
    const size_t none = (size_t)lround(-first_s);
    double squares[LATES] = {0};
    *late_s = NAN;
    if (!way_make(samples, way_m, new_way, &way)) {
        way_free(&way);
        return cw_error_memory(error);
    }
    for (size_t i = 0; i < samples->n; i++) {
        double straight = chord(samples, i, &j), square[LATES], sum = 0;
        if (!(straight > least_way_m)) continue;
        for (size_t k = 0; k < LATES; k++) {
            double late = first_s + (double)k;
            double off = way_at(&way, samples->time_s[j] + late, &from[1][k]) -
                         way_at(&way, samples->time_s[i] + late, &from[0][k]) - straight;
            square[k] = off * off < most_off_m * most_off_m ? off * off : most_off_m * most_off_m;
            sum += off;
        }
        if (!isfinite(sum)) continue; /* all lates are judged by the same ways */
        compared++;
        for (size_t k = 0; k < LATES; k++) squares[k] += square[k];
    }
    way_free(&way);
    for (size_t k = 0; k < LATES; k++)
        if (squares[k] < squares[best]) best = k;
    if (compared < LEAST_COMPARED) return CW_OK;
    if (best == none || squares[none] > least_gain * squares[best])
        *late_s = first_s + (double)best;
    return CW_OK;
}
