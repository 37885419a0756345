#include "compare/elsewhere.h"

#include <math.h>

#include "fit/workings.h"
#include "physics/steady.h"

static double height(double s_m, const void *state) {
    const struct cw_mean_run *mean = state;
    return cw_profile_height(mean->profile, mean->start_m + s_m);
}

static double slope(double s_m, const void *state) {
    const struct cw_mean_run *mean = state;
    return cw_profile_slope(mean->profile, mean->start_m + s_m);
}

bool cw_mean_run_make(const struct cw_fit *fit, struct cw_mean_run *mean) {
    double start = 0, end = 0, entry = 0, density = 0;
    size_t n = 0, stops = 0;
    for (size_t i = 0; i < fit->n_runs; i++) {
        const struct cw_fit_way *way = &fit->workings->ways.at[i];
        if (!cw_fit_way_is_main(way) || cw_outing_rider_of(fit->of.outing, way->recording))
            continue;
        start += way->from_m;
        end += way->rolling_m;
        entry += way->entry_speed_ms;
        density += way->air_density_kgm3;
        stops += fit->of.runs->at[fit->runs[i].run].ends == CW_END_STOP;
        n++;
    }
    if (!n) return false;
    double k = (double)n;
    *mean = (struct cw_mean_run){
        .profile = &fit->workings->ways.profile,
        .start_m = start / k,
        .length_m = (end - start) / k,
        .entry_speed_ms = entry / k,
        .runs_out = stops == n,
        .surroundings = {.density_kgm3 = density / k,
                         .gravity_ms2 = fit->place.gravity_ms2,
                         .column = fit->place.column},
    };
    return mean->length_m > 0;
}

enum cw_status cw_mean_run_coast(const struct cw_mean_run *mean, const struct cw_bicycle *bicycle,
                                 double *time_s, double *runout_m, struct cw_error *error) {
    struct cw_descent descent;
    struct cw_descent_options options = cw_descent_options_default();
    options.start_speed_ms = mean->entry_speed_ms;
    options.step_s = 10;
    options.ends_only = true;
    struct cw_descent_road road = {height, slope, mean, mean->length_m};
    *runout_m = NAN;
    enum cw_status status =
        cw_descent_run(bicycle, &mean->surroundings, &road, &options, &descent, error);
    *time_s = descent.end_time_s;
    if (status < 0) return status;
    if (descent.stopped)
        return cw_error_set(error, CW_E_DATA, NULL, 0, "a setup does not reach the road's end");
    if (!mean->runs_out) return CW_OK;
    /* The profile is known a little past where the runs stood still. */
    road.length_m = cw_profile_end(mean->profile) - mean->start_m;
    status = cw_descent_run(bicycle, &mean->surroundings, &road, &options, &descent, error);
    if (status >= 0 && descent.stopped) *runout_m = descent.end_s_m;
    return status;
}

double cw_flat_power_w(const struct cw_bicycle *bicycle, double density_kgm3, double gravity_ms2,
                       double speed_ms) {
    const struct cw_surroundings still = {.density_kgm3 = density_kgm3, .gravity_ms2 = gravity_ms2};
    return cw_steady_power_w(bicycle, &still, speed_ms, 0);
}
