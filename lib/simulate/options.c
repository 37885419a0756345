#include <math.h>
#include <stdio.h>
#include <string.h>

#include "simulate/options.h"

struct road_preset {
    const char *name;
    size_t n;
    struct cw_simulate_segment segments[4];
};

static const struct road_preset roads[] = {
    {"straight", 1, {{1000, -6, 0}}},
    {"flattening", 3, {{450, -7, 15}, {300, -4, -25}, {350, -1.2, 0}}},
    {"dip", 4, {{500, -7, 0}, {120, -2, 20}, {180, 1.5, 0}, {400, 3.5, -10}}},
    {"steep", 1, {{750, -10, 0}}},
};

enum cw_status cw_simulate_road(struct cw_simulate_options *options, const char *name,
                                struct cw_error *error) {
    for (size_t i = 0; i < sizeof roads / sizeof *roads; i++) {
        if (strcmp(roads[i].name, name) != 0) continue;
        options->n_segments = roads[i].n;
        memcpy(options->segments, roads[i].segments, sizeof roads[i].segments);
        return CW_OK;
    }
    return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "there is no road \"%s\"; there are %s",
                        name, cw_simulate_road_names());
}

const char *cw_simulate_road_names(void) {
    return "straight, flattening, dip and steep";
}

void cw_simulate_elevation(struct cw_simulate_options *options, enum cw_elevation elevation) {
    options->elevation = elevation;
    switch (elevation) {
    case CW_ELEVATION_BAROMETRIC:
        options->elevation_drift_sd_m = 0.3;
        options->elevation_drift_time_s = 200;
        options->elevation_sd_m = 0;
        options->elevation_step_m = 0.2;
        break;
    case CW_ELEVATION_SATELLITE:
        options->elevation_drift_sd_m = 3;
        options->elevation_drift_time_s = 100;
        options->elevation_sd_m = 0.4;
        options->elevation_step_m = 0.1;
        break;
    case CW_ELEVATION_SURVEYED:
        options->elevation_drift_sd_m = 0;
        options->elevation_drift_time_s = 100;
        options->elevation_sd_m = 0;
        options->elevation_step_m = 0;
        break;
    }
}

struct cw_simulate_options cw_simulate_options_default(void) {
    struct cw_simulate_options options = {
        .seed = 1,
        .name = "made-up outing",
        .transition_m = 30,
        .latitude_deg = 46.5,
        .longitude_deg = -33, /* open sea: nobody's road */
        .height_m = 500,
        .heading_deg = 70,
        .n_setups = 2,
        .setups = {{"cape", "all", 0.42, 0.005, 0}, {"jacket", "all", 0.38, 0.005, 0}},
        .n_order = 8,
        .order = {0, 1, 1, 0, 0, 1, 1, 0},
        .rider_mass_kg = 72,
        .bike_mass_kg = 11,
        .wheel_inertia_kgm2 = 0.14,
        .wheel_radius_m = 0.334,
        .temperature_c = 12,
        .pressure_hpa = 960,
        .humidity_percent = 65,
        .gust_sd_ms = 0.15,
        .gust_time_s = 20,
        .start_speed_ms = 4,
        .push_ms2 = 0.8,
        .brake_ms2 = 2.5,
        .climb_speed_ms = 3.5,
        .top_wait_s = 45,
        .bottom_wait_s = 20,
        .n_recordings = 1,
        .start_s = 1716109200, /* 2024-05-19T09:00:00Z */
        .format = CW_FORMAT_TCX,
        .interval_s = 1,
        .positions = true,
        .position_drift_sd_m = 1.5,
        .position_drift_time_s = 100,
        .position_sd_m = 0.2,
        .speed = CW_SIMULATE_SPEED_WHEEL,
        .speed_sd_ms = 0.1,
        .speed_scale = 1,
        .distance = true,
        .cadence = true,
    };
    cw_simulate_road(&options, "straight", NULL);
    cw_simulate_elevation(&options, CW_ELEVATION_BAROMETRIC);
    return options;
}

/* What must lie within a range. */
struct range {
    const char *what;
    double value, low, high;
};

static enum cw_status check_ranges(const struct range *ranges, size_t n, const char *of,
                                   struct cw_error *error) {
    for (size_t i = 0; i < n; i++)
        if (!(ranges[i].value >= ranges[i].low && ranges[i].value <= ranges[i].high))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "%s%s is %g, outside %g to %g", of,
                                ranges[i].what, ranges[i].value, ranges[i].low, ranges[i].high);
    return CW_OK;
}

#define CHECK_RANGES(ranges, of) check_ranges(ranges, sizeof(ranges) / sizeof *(ranges), of, error)

static enum cw_status check_numbers(const struct cw_simulate_options *o, struct cw_error *error) {
    const struct range ranges[] = {
        {"the number of road segments", (double)o->n_segments, 1, CW_SIMULATE_SEGMENTS_MAX},
        {"the number of setups", (double)o->n_setups, 1, CW_SIMULATE_SETUPS_MAX},
        {"the number of runs", (double)o->n_order, 1, CW_SIMULATE_RUNS_MAX},
        {"the number of recordings", (double)o->n_recordings, 1, (double)o->n_order},
        {"the slopes' transition (m)", o->transition_m, 1, 500},
        {"the latitude (degrees)", o->latitude_deg, -80, 80},
        {"the longitude (degrees)", o->longitude_deg, -180, 180},
        {"the height of the top (m)", o->height_m, -400, 5000},
        {"the heading (degrees)", o->heading_deg, -360, 360},
        {"the scatter of CdA (%)", o->cda_scatter_percent, 0, 20},
        {"the rider's mass (kg)", o->rider_mass_kg, 20, 250},
        {"the bike's mass (kg)", o->bike_mass_kg, 3, 100},
        {"the wheels' inertia (kg m2)", o->wheel_inertia_kgm2, 0, 2},
        {"the wheels' radius (m)", o->wheel_radius_m, 0.1, 0.5},
        {"the temperature (degrees C)", o->temperature_c, -40, 50},
        {"the pressure (hPa)", o->pressure_hpa, 600, 1100},
        {"the humidity (%)", o->humidity_percent, 0, 100},
        {"the wind (m/s)", o->wind_along_ms, -10, 10},
        {"the stated wind (m/s)", o->stated_wind_ms, -10, 10},
        {"the gusts' sd (m/s)", o->gust_sd_ms, 0, 5},
        {"the gusts' time (s)", o->gust_time_s, 1, 3600},
        {"the start speed (m/s)", o->start_speed_ms, 0, 15},
        {"the push at the start (m/s2)", o->push_ms2, 0.2, 3},
        {"the braking (m/s2)", o->brake_ms2, 0.5, 6},
        {"the climbing speed (m/s)", o->climb_speed_ms, 0.5, 10},
        {"the wait at the top (s)", o->top_wait_s, 0, 3600},
        {"the wait at the bottom (s)", o->bottom_wait_s, 0, 3600},
        {"the recording interval (s)", o->interval_s, 0.1, 60},
        {"the positions' drift (m)", o->position_drift_sd_m, 0, 50},
        {"the positions' drift time (s)", o->position_drift_time_s, 1, 1e5},
        {"the positions' noise (m)", o->position_sd_m, 0, 50},
        {"the speed's noise (m/s)", o->speed_sd_ms, 0, 5},
        {"the speed's scale", o->speed_scale, 0.8, 1.2},
        {"the elevations' drift (m)", o->elevation_drift_sd_m, 0, 100},
        {"the elevations' drift time (s)", o->elevation_drift_time_s, 1, 1e5},
        {"the elevations' noise (m)", o->elevation_sd_m, 0, 100},
        {"the elevations' step (m)", o->elevation_step_m, 0, 10},
        {"the elevations' lag (s)", o->elevation_lag_s, 0, 60},
        {"the start time", o->start_s, 0, 4e9},
    };
    return CHECK_RANGES(ranges, "");
}

static enum cw_status check_setup(const struct cw_simulate_setup *setup, struct cw_error *error) {
    char of[CW_SIMULATE_NAME_MAX + 16];
    snprintf(of, sizeof of, "setup %s: ", setup->name);
    const struct range ranges[] = {
        {"CdA (m2)", setup->cda_m2, 0.05, 2},
        {"Crr", setup->crr, 0, 0.05},
        {"the load (kg)", setup->load_kg, 0, 100},
    };
    return CHECK_RANGES(ranges, of);
}

static enum cw_status check_segment(const struct cw_simulate_segment *segment, size_t number,
                                    struct cw_error *error) {
    char of[40];
    snprintf(of, sizeof of, "road segment %zu: ", number);
    const struct range ranges[] = {
        {"the length (m)", segment->length_m, 5, 20000},
        {"the slope (%)", segment->slope_percent, -30, 30},
        {"the turn (degrees)", segment->turn_deg, -180, 180},
    };
    return CHECK_RANGES(ranges, of);
}

enum cw_status cw_simulate_options_check(const struct cw_simulate_options *options,
                                         struct cw_error *error) {
    enum cw_status status = check_numbers(options, error);
    for (size_t i = 0; i < options->n_segments && !status; i++)
        status = check_segment(&options->segments[i], i + 1, error);
    for (size_t i = 0; i < options->n_setups && !status; i++)
        status = check_setup(&options->setups[i], error);
    for (size_t i = 0; i < options->n_order && !status; i++)
        if (options->order[i] >= options->n_setups)
            status = cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                  "run %zu is of setup number %zu, but there are only %zu", i + 1,
                                  options->order[i] + 1, options->n_setups);
    if (!status && !options->positions && !options->distance &&
        options->speed == CW_SIMULATE_SPEED_NONE)
        status = cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                              "a recording without positions, speed and distance shows no motion");
    if (!status && !options->positions && options->format == CW_FORMAT_GPX)
        status = cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                              "a GPX recording needs positions; use TCX without them");
    return status;
}
