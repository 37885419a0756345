#include "outing/keys.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "base/print.h"
#include "outing/outing.h"

#define OF(field) .offset = offsetof(struct cw_outing, field)
#define OF_SETUP(field) .offset = offsetof(struct cw_setup, field)
#define OF_RIDER(field) .offset = offsetof(struct cw_rider, field)
#define OF_RECORDING(field) .offset = offsetof(struct cw_own_recording, field)

static const struct cw_outing_section sections[] = {
    {"outing", true, NULL},
    {"rider", true, "NAME"},
    {"bike", true, "NAME"},
    {"air", true, "RECORDING"},
    {"recording", false, "RECORDING"},
    {"setup", false, "NAME"},
    {"rolling", true, NULL},
    {"runs", true, NULL},
};

const struct cw_outing_section *cw_outing_sections(size_t *n) {
    *n = sizeof sections / sizeof *sections;
    return sections;
}

static const struct cw_outing_key keys[] = {
    {"outing", "name", CW_KEY_TEXT, OF(name), .fallback_text = "the file's name",
     .meaning = "what the outing is called in tables and on pages"},
    {"outing", "recordings", CW_KEY_RECORDINGS, OF(recordings), .required = true,
     .meaning = "the recordings, separated by commas; paths are relative to the outing file"},
    {"outing", "elevation", CW_KEY_ELEVATION, OF(elevation),
     .fallback_text = "told from the data, else barometric",
     .meaning =
         "where the heights come from: barometric, satellite, surveyed, terrain (from a map) or "
         "level (a hall, a track, a towpath: recorded heights are not used)"},
    {"outing", "elevation_uncertainty_m", CW_KEY_NUMBER, OF(elevation_uncertainty_m), .unit = "m",
     .low = 0.001, .high = 50, .fallback = NAN,
     .meaning = "of level: how far the road is from level, a standard deviation over its length, "
                "0.1 m where not given; of terrain: standard uncertainty of the map's heights"},
    {"outing", "utc_offset", CW_KEY_OFFSET, OF(utc_offset_s), .fallback_text = NULL,
     .meaning =
         "of local time from UTC, as +01:00: of clock times shown, as the recording has it where "
         "not given; and of times in an air log that say none, UTC where not given"},
    {"outing", "air_log", CW_KEY_FILE, OF(air_log),
     .meaning = "the air as logged beside the road: see AIR LOG"},
    {"rider", "mass_kg", CW_KEY_NUMBER, OF_RIDER(mass_kg), .required = true, .unit = "kg",
     .low = 20, .high = 250, .meaning = "the rider with clothes and all that is carried"},
    {"rider", "mass_lb", CW_KEY_NUMBER, OF_RIDER(mass_kg), .unit = "lb", .low = 44, .high = 551,
     .fallback = NAN, .instead = "mass_kg", .times = CW_KG_PER_LB, .meaning = "the same in pounds"},
    {"rider", "mass_uncertainty_kg", CW_KEY_NUMBER, OF_RIDER(mass_uncertainty_kg), .unit = "kg",
     .low = 0, .high = 20, .fallback = 0.5, .meaning = "standard uncertainty of that mass"},
    {"bike", "mass_kg", CW_KEY_NUMBER, OF_RIDER(bike_mass_kg), .required = true, .unit = "kg",
     .low = 3, .high = 100, .meaning = "the bicycle with bottles and bags, without a setup's load"},
    {"bike", "mass_lb", CW_KEY_NUMBER, OF_RIDER(bike_mass_kg), .unit = "lb", .low = 6.7,
     .high = 220, .fallback = NAN, .instead = "mass_kg", .times = CW_KG_PER_LB,
     .meaning = "the same in pounds"},
    {"bike", "mass_uncertainty_kg", CW_KEY_NUMBER, OF_RIDER(bike_mass_uncertainty_kg), .unit = "kg",
     .low = 0, .high = 20, .fallback = 0.2, .meaning = "standard uncertainty of that mass"},
    {"bike", "wheel_inertia_kgm2", CW_KEY_NUMBER, OF_RIDER(wheel_inertia_kgm2), .unit = "kg m2",
     .low = 0, .high = 2, .fallback = 0.14, .meaning = "moment of inertia of both wheels together"},
    {"bike", "wheel_radius_m", CW_KEY_NUMBER, OF_RIDER(wheel_radius_m), .unit = "m", .low = 0.1,
     .high = 0.5, .fallback = 0.334, .meaning = "radius of a wheel with its tyre"},
    {"air", "temperature_c", CW_KEY_NUMBER, OF(air.temperature_c), .unit = "°C", .low = -40,
     .high = 50, .fallback = NAN, .fallback_text = "standard atmosphere at the recorded height",
     .meaning = "temperature where it was ridden"},
    {"air", "temperature_f", CW_KEY_NUMBER, OF(air.temperature_c), .unit = "°F", .low = -40,
     .high = 122, .fallback = NAN, .instead = "temperature_c", .times = 5 / 9.0, .plus = -160 / 9.0,
     .meaning = "the same in degrees Fahrenheit"},
    {"air", "temperature_uncertainty_c", CW_KEY_NUMBER, OF(air.temperature_uncertainty_c),
     .unit = "°C", .low = 0, .high = 30, .fallback = 1, .of = "temperature_c",
     .fallback_without = 8, .meaning = "standard uncertainty of the temperature"},
    {"air", "pressure_hpa", CW_KEY_NUMBER, OF(air.pressure_hpa), .unit = "hPa", .low = 600,
     .high = 1100, .fallback = NAN, .fallback_text = "standard atmosphere at the recorded height",
     .meaning = "pressure where it was ridden, not reduced to sea level"},
    {"air", "pressure_inhg", CW_KEY_NUMBER, OF(air.pressure_hpa), .unit = "inHg", .low = 17.8,
     .high = 32.4, .fallback = NAN, .instead = "pressure_hpa", .times = CW_HPA_PER_INHG,
     .meaning = "the same in inches of mercury"},
    {"air", "pressure_sea_level_hpa", CW_KEY_NUMBER, OF(air.pressure_sea_level_hpa), .unit = "hPa",
     .low = 870, .high = 1085, .fallback = NAN, .instead = "pressure_hpa", .times = 1,
     .meaning = "the pressure as weather reports give it, reduced to sea level; with the height of "
                "the road it says what it was there"},
    {"air", "pressure_uncertainty_hpa", CW_KEY_NUMBER, OF(air.pressure_uncertainty_hpa),
     .unit = "hPa", .low = 0, .high = 100, .fallback = 1, .of = "pressure_hpa",
     .fallback_without = 10, .reduced = "pressure_sea_level_hpa",
     .fallback_reduced = CW_REDUCED_ERROR_HPA, .meaning = "standard uncertainty of the pressure"},
    {"air", "humidity_percent", CW_KEY_NUMBER, OF(air.humidity_percent), .unit = "%", .low = 0,
     .high = 100, .fallback = NAN, .fallback_text = "standard atmosphere, which is dry",
     .meaning = "relative humidity"},
    {"air", "humidity_uncertainty_percent", CW_KEY_NUMBER, OF(air.humidity_uncertainty_percent),
     .unit = "%", .low = 0, .high = 100, .fallback = 10, .of = "humidity_percent",
     .fallback_without = 50, .meaning = "standard uncertainty of the humidity"},
    {"air", "lapse_k_km", CW_KEY_NUMBER, OF(air.lapse_k_km), .unit = "K/km", .low = -30, .high = 30,
     .fallback = NAN, .fallback_text = "6.5 K/km, the standard atmosphere's",
     .meaning = "lapse rate: by how much the air is colder, a kilometre up, below 0 where it is "
                "warmer above; from thermometers at the top and at the bottom it is the bottom's "
                "less the top's, divided by the height between them in kilometres"},
    {"air", "lapse_uncertainty_k_km", CW_KEY_NUMBER, OF(air.lapse_uncertainty_k_km), .unit = "K/km",
     .low = 0, .high = 30, .fallback = 1, .of = "lapse_k_km",
     .fallback_without = CW_LAPSE_ERROR_K_KM, .meaning = "standard uncertainty of the lapse rate"},
    {"air", "wind_along_ms", CW_KEY_NUMBER, OF(wind_along_ms), .of_whole = true, .unit = "m/s",
     .low = -10, .high = 10, .fallback = 0,
     .meaning = "mean wind along the road; + is a headwind going down, or to who rides a road "
                "there and back as its first run did (such runs tell the wind themselves)"},
    {"air", "wind_uncertainty_ms", CW_KEY_NUMBER, OF(wind_uncertainty_ms), .of_whole = true,
     .unit = "m/s", .low = 0, .high = 10, .fallback = 0.3,
     .meaning = "standard uncertainty of the mean wind"},
    {"recording", "rider", CW_KEY_RIDER, OF_RECORDING(rider),
     .meaning = "a companion who recorded it: masses are in [rider NAME] and [bike NAME]"},
    {"recording", "setup", CW_KEY_SETUP, OF_RECORDING(setup),
     .meaning = "the setup of all its runs, which order in [runs] then does not count"},
    {"recording", "order", CW_KEY_ORDER, OF_RECORDING(order),
     .meaning = "the setup of each of its runs kept, likewise"},
    {"recording", "skip", CW_KEY_SKIP, OF_RECORDING(skip), .meaning = "runs of it to leave out"},
    {"setup", "description", CW_KEY_TEXT, OF_SETUP(description),
     .meaning = "what the setup is, in words"},
    {"setup", "load_kg", CW_KEY_NUMBER, OF_SETUP(load_kg), .unit = "kg", .low = 0, .high = 100,
     .fallback = 0, .meaning = "what the setup adds to the mass of rider and bike"},
    {"setup", "load_lb", CW_KEY_NUMBER, OF_SETUP(load_kg), .unit = "lb", .low = 0, .high = 220,
     .fallback = NAN, .instead = "load_kg", .times = CW_KG_PER_LB, .meaning = "the same in pounds"},
    {"setup", "tyres", CW_KEY_TEXT, OF_SETUP(tyres), .fallback_text = "all",
     .meaning = "a name for the tyres; setups on the same tyres share one Crr"},
    {"setup", "pressure_kpa", CW_KEY_NUMBER, OF_SETUP(pressure_kpa), .unit = "kPa", .low = 50,
     .high = 1500, .fallback = NAN,
     .meaning =
         "of these tyres, as pumped up: shown beside their Crr, and nothing is reckoned with "
         "it; other pressures are other tyres, with a name of their own"},
    {"setup", "pressure_psi", CW_KEY_NUMBER, OF_SETUP(pressure_kpa), .unit = "psi", .low = 8,
     .high = 217, .fallback = NAN, .instead = "pressure_kpa", .times = CW_KPA_PER_PSI,
     .meaning = "the same in pounds a square inch"},
    {"setup", "drag", CW_KEY_TEXT, OF_SETUP(drag),
     .meaning = "a name for the drag; setups that name the same share one CdA: the same rider, "
                "position and clothes, as in a test of tyres alone"},
    {"rolling", "crr", CW_KEY_NUMBER, OF(crr), .unit = "", .low = 0.001, .high = 0.05,
     .fallback = NAN, .fallback_text = "found by the fit",
     .meaning = "rolling coefficient, only where it is known and is not to be fitted"},
    {"rolling", "crr_uncertainty", CW_KEY_NUMBER, OF(crr_uncertainty), .unit = "", .low = 0,
     .high = 0.02, .fallback = 0.0005, .of = "crr", .fallback_without = NAN,
     .meaning = "standard uncertainty of that coefficient"},
    {"runs", "order", CW_KEY_ORDER, OF(order),
     .meaning = "the setup of each run kept, in time order; or of each descent, where a road was "
                "coasted down in pieces again and again"},
    {"runs", "skip", CW_KEY_SKIP, OF(skip),
     .meaning = "runs to leave out, by the numbers that coastwise runs prints"},
    {"runs", "start", CW_KEY_START, OF(starts_at_mark),
     .meaning = "mark: every run began standing at one and the same mark"},
    {"runs", "wind_along_ms", CW_KEY_NOTES, OF(wind_ms), .unit = "m/s", .low = -10, .high = 10,
     .meaning = "the mean wind as noted at each run that order counts, + as in [air]; - where it "
                "was not noted"},
    {"runs", "wind_uncertainty_ms", CW_KEY_NUMBER, OF(wind_ms.uncertainty), .unit = "m/s",
     .low = 0.01, .high = 10, .fallback = 0.3, .of = "wind_along_ms", .fallback_without = NAN,
     .meaning = "standard uncertainty of one such note, beside what all of them share (that is in "
                "[air])"},
    {"runs", "runout_m", CW_KEY_NOTES, OF(runout_m), .unit = "m", .low = -10000, .high = 10000,
     .meaning = "where the wheel stood still, as taped from any one mark, + further along; a value "
                "a run, or -"},
    {"runs", "runout_uncertainty_m", CW_KEY_NUMBER, OF(runout_m.uncertainty), .unit = "m",
     .low = 0.001, .high = 100, .fallback = 0.1, .of = "runout_m", .fallback_without = NAN,
     .meaning = "standard uncertainty of one such place"},
    {"runs", "time_s", CW_KEY_NOTES, OF(time_s), .unit = "s", .low = 0.1, .high = 10000,
     .meaning = "time by stopwatch between any two marks; a value a run, or -"},
    {"runs", "time_uncertainty_s", CW_KEY_NUMBER, OF(time_s.uncertainty), .unit = "s", .low = 0.001,
     .high = 100, .fallback = 0.2, .of = "time_s", .fallback_without = NAN,
     .meaning = "standard uncertainty of one such time"},
};

_Static_assert(sizeof keys / sizeof *keys == CW_OUTING_KEY_COUNT, "CW_OUTING_KEY_COUNT is off");

const struct cw_outing_key *cw_outing_keys(size_t *n) {
    *n = CW_OUTING_KEY_COUNT;
    return keys;
}

const struct cw_outing_key *cw_outing_key_find(const char *section, const char *name) {
    for (size_t i = 0; i < CW_OUTING_KEY_COUNT; i++)
        if (!strcmp(keys[i].section, section) && !strcmp(keys[i].name, name)) return &keys[i];
    return NULL;
}

#define LONGEST 63

static size_t least(size_t a, size_t b) {
    return a < b ? a : b;
}

/* Edit distance with swaps of neighbours (optimal string alignment), on at most LONGEST bytes. */
static size_t distance(const char *a, const char *b) {
    size_t n = least(strlen(a), LONGEST), m = least(strlen(b), LONGEST);
    size_t row[3][LONGEST + 1];
    size_t *before = row[0], *above = row[1], *now = row[2];
    for (size_t j = 0; j <= m; j++) above[j] = j;
    for (size_t i = 1; i <= n; i++) {
        now[0] = i;
        for (size_t j = 1; j <= m; j++) {
            int x = tolower((unsigned char)a[i - 1]), y = tolower((unsigned char)b[j - 1]);
            now[j] = least(above[j - 1] + (x != y), least(above[j], now[j - 1]) + 1);
            if (i > 1 && j > 1 && x == tolower((unsigned char)b[j - 2]) &&
                y == tolower((unsigned char)a[i - 2]))
                now[j] = least(now[j], before[j - 2] + 1);
        }
        size_t *free_row = before;
        before = above;
        above = now;
        now = free_row;
    }
    return above[m];
}

/* The nearest, and how many letters it is off. */
static const char *nearest_of(const char *word, const char *const *names, size_t n,
                              size_t *fewest) {
    const char *nearest = NULL;
    *fewest = (size_t)-1;
    for (size_t i = 0; i < n; i++) {
        size_t begun = strlen(word);
        size_t changes =
            begun > 2 && !strncmp(word, names[i], begun) ? 0 : distance(word, names[i]);
        if (changes < *fewest) {
            *fewest = changes;
            nearest = names[i];
        }
    }
    return nearest;
}

const char *cw_nearest(const char *word, const char *const *names, size_t n) {
    size_t fewest;
    return nearest_of(word, names, n, &fewest);
}

const char *cw_guess(const char *word, const char *const *names, size_t n, const char *before,
                     const char *after, char guess[CW_GUESS_TEXT]) {
    size_t fewest, most = (strlen(word) + 2) / 3;
    const char *nearest = nearest_of(word, names, n, &fewest);
    bool near = nearest && fewest <= (most > 1 ? most : 1);
    cw_print(guess, CW_GUESS_TEXT, "%s%s%s", near ? before : "", near ? nearest : "",
             near ? after : "");
    return guess;
}
