#include "plan/like.h"

#include <math.h>
#include <stdlib.h>

#include "compare/elsewhere.h"
#include "fit/workings.h"
#include "stats/robust.h"

/* Who waits longer has done something else. */
static const double longest_turn_s = 3600;

bool cw_plan_like_has_speed(const struct cw_fit *fit) {
    const struct cw_run_data *data = &fit->workings->joint.data[0];
    for (size_t j = 0; j < data->n; j++)
        if (isfinite(data->speed_seen_ms[j])) return true;
    return false;
}

bool cw_plan_like_by_energy(const struct cw_fit *fit) {
    size_t by_energy = 0;
    for (size_t i = 0; i < fit->n_runs; i++)
        by_energy += fit->of.runs->at[fit->runs[i].run].by_energy;
    return 2 * by_energy > fit->n_runs;
}

/* Between two samples, of its first run. */
static double interval_s(const struct cw_fit *fit) {
    const struct cw_run_data *data = &fit->workings->joint.data[0];
    size_t seen = 0;
    for (size_t j = 0; j < data->n; j++)
        seen += isfinite(data->speed_seen_ms[j]) || isfinite(data->position_seen_m[j]) ||
                isfinite(data->height_seen_m[j]);
    return seen > 1 ? data->time_s[data->n - 1] / (double)(seen - 1) : 1;
}

enum cw_status cw_plan_like_turn_s(const struct cw_fit *fit, double *turn_s,
                                   struct cw_error *error) {
    double *turn = malloc((fit->n_runs + 1) * sizeof *turn);
    size_t n = 0;
    *turn_s = NAN;
    if (!turn) return cw_error_memory(error);
    for (size_t i = 1; i < fit->n_runs; i++) {
        const struct cw_run *at = fit->of.runs->at;
        double s = at[fit->runs[i].run].start_s - at[fit->runs[i - 1].run].start_s;
        if (s > 0 && s < longest_turn_s) turn[n++] = s;
    }
    if (n) *turn_s = cw_median(turn, n);
    free(turn);
    return CW_OK;
}

/* The mean CdA of its own rider's runs, and Crr of the first tyres. */
static void take_guesses(const struct cw_fit *fit, struct cw_plan_options *options) {
    double sum = 0, n = 0;
    for (size_t i = 0; i < fit->n_runs; i++) {
        if (cw_outing_rider_of(fit->of.outing, fit->workings->joint.data[i].recording)) continue;
        sum += fit->workings->value[fit->n_tyres + i];
        n++;
    }
    if (isnan(options->cda_m2) && n > 0) options->cda_m2 = sum / n;
    if (isnan(options->crr)) options->crr = fit->workings->value[0];
}

enum cw_status cw_plan_like_settle(struct cw_plan_options *options, struct cw_error *error) {
    const struct cw_analysed *like = options->like;
    struct cw_mean_run mean;
    if (!like->fitted || !like->fit.n_runs || !cw_mean_run_make(&like->fit, &mean))
        return cw_error_set(error, CW_E_DATA, like->outing.file, 0,
                            "no run of it tells what to expect");
    const struct cw_fit *fit = &like->fit;
    take_guesses(fit, options);
    if (isnan(options->mass_kg))
        options->mass_kg = like->outing.rider.mass_kg + like->outing.rider.bike_mass_kg;
    if (!options->start_speed_given) options->day.start_speed_ms = fmax(0, mean.entry_speed_ms);
    options->day.interval_s = fmin(60, fmax(0.1, interval_s(fit)));
    options->day.elevation_step_m = fit->workings->joint.data[0].height_step_m;
    options->day.elevation = like->outing.elevation;
    options->day.wheel_inertia_kgm2 = like->outing.rider.wheel_inertia_kgm2;
    options->day.wheel_radius_m = like->outing.rider.wheel_radius_m;
    return CW_OK;
}

/* ---- what is left possible ---- */

struct point {
    double variance, noise, weight;
    size_t at;
};

/* Points of one variance differ in the noise, and stand in the order of that, whatever the order in
 * which they were looked at. */
static int by_variance(const void *a, const void *b) {
    const struct point *x = a, *y = b;
    if (x->variance != y->variance) return x->variance > y->variance ? 1 : -1;
    return (x->noise > y->noise) - (x->noise < y->noise);
}

enum cw_status cw_plan_like_truths(const struct cw_fit *fit,
                                   struct cw_plan_truth truth[CW_PLAN_TRUTHS],
                                   struct cw_error *error) {
    const struct cw_components *between = &fit->workings->between;
    size_t n = between->n_points, nc = between->n_components;
    struct point *points = n ? malloc(n * sizeof *points) : NULL;
    for (size_t k = 0; k < CW_PLAN_TRUTHS; k++) truth[k] = (struct cw_plan_truth){1, 0, 0, 0};
    if (!n) return CW_OK;
    if (!points) return cw_error_memory(error);
    double by = fabs(cw_between_by_wind(&fit->workings->joint.data[0]));
    bool repeated = nc > CW_BETWEEN_WIND;
    for (size_t i = 0; i < n; i++) {
        const double *theta = between->theta + i * nc;
        double own = repeated ? theta[CW_BETWEEN_OWN] : 0,
               wind = repeated ? by * theta[CW_BETWEEN_WIND] : 0;
        points[i] =
            (struct point){own * own + wind * wind, theta[CW_BETWEEN_NOISE], between->weight[i], i};
    }
    qsort(points, n, sizeof *points, by_variance);
    double below = 0;
    for (size_t i = 0, k = 0; k < CW_PLAN_TRUTHS; k++) {
        double share = ((double)k + 0.5) / CW_PLAN_TRUTHS;
        while (i + 1 < n && below + points[i].weight < share) below += points[i++].weight;
        const double *theta = between->theta + points[i].at * nc;
        truth[k].noise = theta[CW_BETWEEN_NOISE];
        if (!repeated) continue;
        truth[k].own = theta[CW_BETWEEN_OWN];
        truth[k].wind_ms = theta[CW_BETWEEN_WIND];
    }
    free(points);
    return CW_OK;
}
