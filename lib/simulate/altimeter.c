#include "simulate/altimeter.h"

#include <math.h>

#include "physics/air.h"

bool cw_altimeter_open(const struct cw_simulate_options *options, const struct cw_faults *faults,
                       struct cw_altimeter *altimeter) {
    *altimeter =
        (struct cw_altimeter){.options = options,
                              .faults = faults,
                              .drifting = cw_random_make(options->seed, CW_STREAM_ELEVATION_DRIFT),
                              .white = cw_random_make(options->seed, CW_STREAM_ELEVATION),
                              .feeling = cw_random_make(options->seed, CW_STREAM_FELT_DRIFT)};
    return altimeter->drifting.state && altimeter->white.state && altimeter->feeling.state;
}

void cw_altimeter_close(struct cw_altimeter *altimeter) {
    cw_random_free(&altimeter->drifting);
    cw_random_free(&altimeter->white);
    cw_random_free(&altimeter->feeling);
}

static double pressure_altitude(const struct cw_day *day, double height_m) {
    return cw_isa_pressure_altitude_m(day->pressure_pa *
                                      cw_air_column_pressure(&day->column, height_m));
}

static double felt_height(const struct cw_altimeter *altimeter, double true_m) {
    if (altimeter->options->elevation != CW_ELEVATION_BAROMETRIC)
        return true_m + altimeter->jumped_m;
    return pressure_altitude(altimeter->day, true_m) - altimeter->top_indicated_m +
           altimeter->options->height_m + altimeter->felt_m.value + altimeter->jumped_m;
}

void cw_altimeter_start(struct cw_altimeter *altimeter, size_t recording, const struct cw_day *day,
                        double time_s, double true_m) {
    const struct cw_simulate_options *options = altimeter->options;
    const struct cw_faults *faults = altimeter->faults;
    altimeter->day = day;
    altimeter->top_indicated_m = pressure_altitude(day, options->height_m);
    altimeter->drift_m = cw_drift_make(options->elevation_drift_sd_m,
                                       options->elevation_drift_time_s, &altimeter->drifting);
    altimeter->felt_m =
        cw_drift_make(options->felt_drift_sd_m, options->felt_drift_time_s, &altimeter->feeling);
    altimeter->jumped_m = 0;
    altimeter->height_m = altimeter->smoothed_m = felt_height(altimeter, true_m);
    altimeter->time_s = time_s;
    while (altimeter->next_jump < faults->n_jumps &&
           faults->jumps[altimeter->next_jump].recording < recording)
        altimeter->next_jump++;
}

/* What is felt beside the height, up to a later time. */
static void feel(struct cw_altimeter *altimeter, double time_s) {
    const struct cw_faults *faults = altimeter->faults;
    cw_drift_step(&altimeter->felt_m, time_s - altimeter->time_s, &altimeter->feeling);
    for (; altimeter->next_jump < faults->n_jumps; altimeter->next_jump++) {
        const struct cw_jump *jump = &faults->jumps[altimeter->next_jump];
        if (jump->time_s > time_s) break;
        altimeter->jumped_m += jump->by_m;
    }
}

void cw_altimeter_follow(struct cw_altimeter *altimeter, double time_s, double true_m) {
    double lag_s = altimeter->options->elevation_lag_s, dt_s = time_s - altimeter->time_s;
    feel(altimeter, time_s);
    double felt_m = felt_height(altimeter, true_m);
    if (lag_s <= 0) {
        altimeter->smoothed_m = felt_m;
    } else if (dt_s > 0) {
        double behind_m = (felt_m - altimeter->height_m) / dt_s * lag_s;
        altimeter->smoothed_m =
            felt_m - behind_m +
            (altimeter->smoothed_m - altimeter->height_m + behind_m) * exp(-dt_s / lag_s);
    }
    altimeter->height_m = felt_m;
    altimeter->time_s = time_s;
}

void cw_altimeter_step(struct cw_altimeter *altimeter, double dt_s) {
    cw_drift_step(&altimeter->drift_m, dt_s, &altimeter->drifting);
}

double cw_altimeter_say(struct cw_altimeter *altimeter, double map_m) {
    const struct cw_simulate_options *options = altimeter->options;
    double step_m = options->elevation_step_m;
    double height_m = (options->elevation == CW_ELEVATION_TERRAIN ? map_m : altimeter->smoothed_m) +
                      altimeter->drift_m.value +
                      options->elevation_sd_m * cw_random_normal(&altimeter->white);
    if (step_m > 0) height_m = rint(height_m / step_m) * step_m;
    return rint(height_m * 1000) / 1000;
}
