#include "simulate/options.h"

#include <math.h>
#include <string.h>

#include "base/print.h"
#include "base/utf8.h"
#include "recording/write.h"
#include "simulate/words.h"

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

const char *cw_simulate_road_word(size_t i) {
    return i < sizeof roads / sizeof *roads ? roads[i].name : NULL;
}

enum cw_status cw_simulate_road(struct cw_simulate_options *options, const char *name,
                                struct cw_error *error) {
    for (size_t i = 0; i < sizeof roads / sizeof *roads; i++) {
        if (strcmp(roads[i].name, name) != 0) continue;
        options->n_segments = roads[i].n;
        memcpy(options->segments, roads[i].segments, sizeof roads[i].segments);
        return CW_OK;
    }
    return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                        "there is no road \"%s\"; there are straight, flattening, dip and steep",
                        name);
}

size_t cw_simulate_recordings(const struct cw_simulate_options *options) {
    return options->n_recordings ? options->n_recordings : options->n_order;
}

void cw_simulate_order(struct cw_simulate_options *options, size_t rounds) {
    size_t setups = options->n_setups;
    options->n_order = 0;
    for (size_t i = 0; i < 2 * setups * rounds && i < CW_SIMULATE_RUNS_MAX; i++) {
        size_t place = i % (2 * setups);
        options->order[options->n_order++] = place < setups ? place : 2 * setups - 1 - place;
    }
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
    case CW_ELEVATION_TERRAIN:
    case CW_ELEVATION_LEVEL:
        options->elevation_drift_sd_m = 0;
        options->elevation_drift_time_s = 100;
        options->elevation_sd_m = 0;
        options->elevation_step_m = elevation == CW_ELEVATION_TERRAIN ? 0.1 : 0;
        break;
    }
}

struct cw_simulate_options cw_simulate_options_default(void) {
    struct cw_simulate_options options = {
#define USUAL(field, option, usual, low, high, meaning) .field = usual,
        CW_SIMULATE_NUMBERS(USUAL)
#undef USUAL
            .seed = 1,
        .name = "made-up outing",
        .n_setups = 2,
        .setups = {{.name = "cape", .tyres = "all", .cda_m2 = 0.42, .crr = 0.005},
                   {.name = "jacket", .tyres = "all", .cda_m2 = 0.38, .crr = 0.005}},
        .n_recordings = 1,
        .start_s = 1716109200, /* 2024-05-19T09:00:00Z */
        .format = CW_FORMAT_TCX,
        .positions = true,
        .distance = true,
        .cadence = true,
        .speed = CW_SIMULATE_SPEED_WHEEL,
    };
    cw_simulate_order(&options, 2);
    cw_simulate_road(&options, "straight", NULL);
    cw_simulate_elevation(&options, CW_ELEVATION_BAROMETRIC);
    return options;
}

/* The companion's chance is another than that of any rider whose seed is below this. */
#define COMPANION_SEED 0x8000000ul

double cw_simulate_start_speed(const struct cw_simulate_options *options, size_t i) {
    return options->start_speed_ms + options->setups[options->order[i]].start_more_ms;
}

struct cw_simulate_options
cw_simulate_options_companion(const struct cw_simulate_options *options) {
    struct cw_simulate_options companion = *options;
    companion.seed ^= COMPANION_SEED;
    companion.rider_mass_kg = options->companion_mass_kg;
    companion.bike_mass_kg = options->companion_bike_mass_kg;
    companion.cda_scatter_percent = 0;
    companion.n_setups = 1;
    companion.setups[0] = (struct cw_simulate_setup){.name = CW_SIMULATE_COMPANION,
                                                     .tyres = CW_SIMULATE_COMPANION,
                                                     .cda_m2 = options->companion_cda_m2,
                                                     .crr = options->companion_crr};
    for (size_t i = 0; i < options->n_order; i++) companion.order[i] = 0;
    return companion;
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

static enum cw_status check_numbers(const struct cw_simulate_options *options,
                                    struct cw_error *error) {
    const struct range ranges[] = {
        {"the number of road segments", (double)options->n_segments, 1, CW_SIMULATE_SEGMENTS_MAX},
        {"the number of setups", (double)options->n_setups, 1, CW_SIMULATE_SETUPS_MAX},
        {"the number of runs", (double)options->n_order, 1, CW_SIMULATE_RUNS_MAX},
        {"the number of recordings", (double)options->n_recordings, 0, (double)options->n_order},
        {"the start time", options->start_s, 0, 4e9},
#define RANGE(field, option, usual, low, high, meaning) {#field, options->field, low, high},
        CW_SIMULATE_NUMBERS(RANGE)
#undef RANGE
    };
    return CHECK_RANGES(ranges, "");
}

/* A name that can stand in an outing file: a word, or words where blanks are allowed. */
static enum cw_status check_name(const char *what, const char *name, bool blanks,
                                 struct cw_error *error) {
    size_t length = strnlen(name, CW_SIMULATE_NAME_MAX);
    bool fine = length > 0 && length < CW_SIMULATE_NAME_MAX && cw_utf8_valid(name, length) &&
                name[0] != ' ' && name[length - 1] != ' ';
    for (size_t i = 0; i < length && fine; i++)
        fine = (unsigned char)name[i] >= 0x20 && name[i] != 0x7f &&
               !strchr(blanks ? ";" : " ,;[]", name[i]);
    if (fine) return CW_OK;
    return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                        "%s \"%.*s\" cannot be used: give 1 to %d letters or digits%s", what,
                        (int)length, name, CW_SIMULATE_NAME_MAX - 1,
                        blanks ? "" : " without blanks, commas or brackets");
}

static enum cw_status check_setup(const struct cw_simulate_options *options, size_t i,
                                  struct cw_error *error) {
    const struct cw_simulate_setup *setup = &options->setups[i];
    enum cw_status status = check_name("the setup's name", setup->name, false, error);
    if (!status) status = check_name("the tyres' name", setup->tyres, false, error);
    if (status) return status;
    if (options->companion && (!strcmp(setup->name, CW_SIMULATE_COMPANION) ||
                               !strcmp(setup->tyres, CW_SIMULATE_COMPANION)))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "a setup or its tyres have the companion's name \"%s\": give another",
                            CW_SIMULATE_COMPANION);
    for (size_t k = 0; k < i; k++)
        if (!strcmp(options->setups[k].name, setup->name))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "two setups have the name \"%s\"",
                                setup->name);
    char of[CW_SIMULATE_NAME_MAX + 16];
    cw_print(of, sizeof of, "setup %s: ", setup->name);
    const struct range ranges[] = {
        {"cda_m2", setup->cda_m2, 0.05, 2},
        {"crr", setup->crr, 0, 0.05},
        {"load_kg", setup->load_kg, 0, 100},
        {"start_speed_ms", options->start_speed_ms + setup->start_more_ms, 0, 15},
    };
    return CHECK_RANGES(ranges, of);
}

static enum cw_status check_segment(const struct cw_simulate_segment *segment, size_t number,
                                    struct cw_error *error) {
    char of[40];
    cw_print(of, sizeof of, "road segment %zu: ", number);
    const struct range ranges[] = {
        {"length_m", segment->length_m, 5, 20000},
        {"slope_percent", segment->slope_percent, -30, 30},
        {"turn_deg", segment->turn_deg, -180, 180},
    };
    return CHECK_RANGES(ranges, of);
}

/* What a recorder without positions, or a format, has no place for. */
static enum cw_status check_recorder(const struct cw_simulate_options *options,
                                     struct cw_error *error) {
    const char *format = cw_format_text(options->format);
    const char *without = NULL;
    if (!options->positions) {
        if (!options->distance && options->speed == CW_SIMULATE_SPEED_NONE)
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "a recording without positions, speed and distance shows no "
                                "motion");
        if (options->speed == CW_SIMULATE_SPEED_OWN) without = "a speed made of positions";
        if (options->elevation == CW_ELEVATION_TERRAIN) without = "a map's heights";
    }
    if (without)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "%s cannot be had without positions",
                            without);
    if (!options->positions && cw_recording_needs_position(options->format))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "a %s recording needs positions; use another format without them",
                            format);
    if (options->device_temperature && !cw_recording_holds_temperature(options->format))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "a %s recording holds no temperature; use another format, or leave "
                            "the device's temperature out",
                            format);
    return CW_OK;
}

enum cw_status cw_simulate_options_check(const struct cw_simulate_options *options,
                                         struct cw_error *error) {
    enum cw_status status = check_numbers(options, error);
    if (!status) status = check_name("the outing's name", options->name, true, error);
    for (size_t i = 0; i < options->n_segments && !status; i++)
        status = check_segment(&options->segments[i], i + 1, error);
    for (size_t i = 0; i < options->n_setups && !status; i++)
        status = check_setup(options, i, error);
    for (size_t i = 0; i < options->n_order && !status; i++)
        if (options->order[i] >= options->n_setups)
            status = cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                  "run %zu is of setup number %zu, but there are only %zu", i + 1,
                                  options->order[i] + 1, options->n_setups);
    return status ? status : check_recorder(options, error);
}
