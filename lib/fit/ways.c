#include "fit/ways.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/workings.h"

static const double rolling_ms = 3;

static size_t still_rolling(const struct cw_run_data *data) {
    size_t last = data->n - 1;
    while (last > 0 && data->speed_ms[last] < rolling_ms) last--;
    return last;
}

static struct cw_fit_way way_of(const struct cw_fit *fit, size_t i) {
    const struct cw_joint *joint = &fit->workings->joint;
    const struct cw_run_data *data = &joint->data[i];
    const double *gust_ms = fit->runs[i].gust_ms;
    struct cw_fit_way way = {
        .recording = data->recording,
        .road = data->road,
        .reversed = data->reversed,
        .from_m = data->s_m[0],
        .to_m = data->s_m[data->n - 1],
        .rolling_m = data->s_m[still_rolling(data)],
        .entry_speed_ms = data->speed_ms[0],
        .wind_along_ms = data->surroundings.wind_along_ms,
        .air_density_kgm3 = cw_recording_air_of_run(&fit->of, &fit->workings->air[data->recording],
                                                    &fit->of.runs->at[data->run])
                                .density_kgm3,
        .warmer_k = data->warmer_k,
        .crr_share = cw_joint_own_crr(joint, i, 1),
        .cda_m2 = joint->cda_m2[i],
        .by_wind = cw_wind_answer_of(data),
    };
    for (size_t j = 0; gust_ms && j < data->n; j++) {
        if (j && fabs(gust_ms[j]) <= fabs(way.worst_ms)) continue;
        way.worst_ms = gust_ms[j];
        way.worst_m = data->s_m[j];
    }
    return way;
}

enum cw_status cw_fit_ways_make(struct cw_fit *fit, struct cw_error *error) {
    const struct cw_joint *joint = &fit->workings->joint;
    const struct cw_profile *main = &joint->profile[CW_ROAD_MAIN];
    struct cw_fit_ways *ways = &fit->workings->ways;
    ways->at = malloc(joint->n_runs * sizeof *ways->at);
    ways->crr = malloc(joint->n_tyres * sizeof *ways->crr);
    ways->profile = *main;
    ways->profile.coefficient_m = malloc(main->n * sizeof *main->coefficient_m);
    if (!ways->at || !ways->crr || !ways->profile.coefficient_m) return cw_error_memory(error);
    memcpy(ways->profile.coefficient_m, main->coefficient_m, main->n * sizeof *main->coefficient_m);
    memcpy(ways->crr, joint->crr, joint->n_tyres * sizeof *ways->crr);
    ways->warms = cw_joint_warms(joint);
    for (size_t i = 0; i < joint->n_runs; i++) ways->at[i] = way_of(fit, i);
    return CW_OK;
}

void cw_fit_ways_free(struct cw_fit_ways *ways) {
    free(ways->at);
    free(ways->crr);
    cw_profile_free(&ways->profile);
    *ways = (struct cw_fit_ways){0};
}
