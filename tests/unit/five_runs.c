#include "five_runs.h"

#include <check.h>
#include <stdlib.h>

#include "dense.h"

const struct cw_noise five_runs_noise = {.gust_sd_ms = 0.2,
                                         .gust_time_s = 18,
                                         .drift_sd_m = 0.4,
                                         .drift_time_s = 150,
                                         .elevation_sd_m = 0.06,
                                         .speed_sd_ms = 0.11,
                                         .wander_sd_m = 1.7,
                                         .wander_time_s = 60,
                                         .jitter_sd_m = 0.4,
                                         .jitter_time_s = 3,
                                         .creep_sd_ms = 0.06,
                                         .creep_time_s = 4,
                                         .position_sd_m = 0.3,
                                         .roughness_m = 0.02};
const struct cw_joint_priors five_runs_priors = {.offset_sd_m = 5,
                                                 .shift_sd_m = 20,
                                                 .scale_sd = 0.005,
                                                 .bends = {0.03, 0.1},
                                                 .wind = {0.4, 0.5},
                                                 .own_wind_ms = 0.6,
                                                 .cda_m2 = {0.35, 0.3}};
const struct cw_crr_prior five_runs_crr_prior[TYRES] = {{{0.005, 0.01}, false},
                                                        {{0.0046, 0.0003}, true}};
const size_t five_runs_coefficients[CUTS] = {1000, 17, 12};

void five_runs_make(struct cw_joint *joint, int cut) {
    static const struct made_run made[RUNS] = {{true, true, true, 40, 3, 3.5, 31},
                                               {true, false, true, 35, 40, 5, 32},
                                               {false, true, true, 40, 5, 4, 33},
                                               {true, true, true, 30, 0, 6, 34},
                                               {true, true, true, 38, 20, 3, 35}};
    static const size_t road[RUNS] = {0, 0, 0, 1, 1}, recording[RUNS] = {0, 0, 1, 0, 1},
                        tyres[RUNS] = {0, 1, 0, 0, 1};
    struct cw_profile profile;
    struct cw_error error;
    struct cw_run_data *data = calloc(RUNS, sizeof *data);
    made_profile(700, &profile);
    for (size_t i = 0; i < RUNS; i++) {
        made_run(&made[i], &profile, &data[i]);
        data[i].run = i;
        data[i].road = road[i];
        data[i].recording = data[i].device = recording[i];
        data[i].tyres = tyres[i];
        data[i].bicycle.mass_kg += (double)i;
        data[i].reversed = i == REVERSED;
        data[i].mirror_m = 640;
    }
    cw_profile_free(&profile);
    ck_assert_int_eq(cw_joint_make(data, RUNS, ROADS, RECORDINGS, TYRES, &five_runs_priors,
                                   five_runs_crr_prior, 15, joint, &error),
                     CW_OK);
    const double lag_s[RECORDINGS] = {0.4, 1.7};
    for (size_t i = 0; i < RUNS; i++) joint->cda_m2[i] = 0.3 + 0.01 * (double)i;
    joint->scale[0] = 0.002;
    joint->scale[1] = -0.001;
    cw_joint_linearise(joint);
    cw_joint_set_lags(joint, lag_s);
    ck_assert_int_eq(cw_joint_cut(joint, five_runs_coefficients[cut], &error), CW_OK);
    if (cut) ck_assert_uint_gt(joint->pieces.first[RUNS], RUNS + 1);
}
