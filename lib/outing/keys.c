#include "outing/keys.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "outing/outing.h"

#define OF(field) .offset = offsetof(struct cw_outing, field)
#define OF_SETUP(field) .offset = offsetof(struct cw_setup, field)

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
    {"rider", "mass_kg", CW_KEY_NUMBER, OF(rider_mass_kg), .required = true, .unit = "kg",
     .low = 20, .high = 250, .meaning = "the rider with clothes and all that is carried"},
    {"rider", "mass_uncertainty_kg", CW_KEY_NUMBER, OF(rider_mass_uncertainty_kg), .unit = "kg",
     .low = 0, .high = 20, .fallback = 0.5, .meaning = "standard uncertainty of that mass"},
    {"bike", "mass_kg", CW_KEY_NUMBER, OF(bike_mass_kg), .required = true, .unit = "kg", .low = 3,
     .high = 100, .meaning = "the bicycle with bottles and bags, without a setup's load"},
    {"bike", "mass_uncertainty_kg", CW_KEY_NUMBER, OF(bike_mass_uncertainty_kg), .unit = "kg",
     .low = 0, .high = 20, .fallback = 0.2, .meaning = "standard uncertainty of that mass"},
    {"bike", "wheel_inertia_kgm2", CW_KEY_NUMBER, OF(wheel_inertia_kgm2), .unit = "kg m2", .low = 0,
     .high = 2, .fallback = 0.14, .meaning = "moment of inertia of both wheels together"},
    {"bike", "wheel_radius_m", CW_KEY_NUMBER, OF(wheel_radius_m), .unit = "m", .low = 0.1,
     .high = 0.5, .fallback = 0.334, .meaning = "radius of a wheel with its tyre"},
    {"air", "temperature_c", CW_KEY_NUMBER, OF(air.temperature_c), .of_recording = true,
     .unit = "°C", .low = -40, .high = 50, .fallback = NAN,
     .fallback_text = "standard atmosphere at the recorded height",
     .meaning = "temperature where it was ridden"},
    {"air", "temperature_uncertainty_c", CW_KEY_NUMBER, OF(air.temperature_uncertainty_c),
     .of_recording = true, .unit = "°C", .low = 0, .high = 30, .fallback = 1, .of = "temperature_c",
     .fallback_without = 8, .meaning = "standard uncertainty of the temperature"},
    {"air", "pressure_hpa", CW_KEY_NUMBER, OF(air.pressure_hpa), .of_recording = true,
     .unit = "hPa", .low = 600, .high = 1100, .fallback = NAN,
     .fallback_text = "standard atmosphere at the recorded height",
     .meaning = "pressure where it was ridden, not reduced to sea level"},
    {"air", "pressure_uncertainty_hpa", CW_KEY_NUMBER, OF(air.pressure_uncertainty_hpa),
     .of_recording = true, .unit = "hPa", .low = 0, .high = 100, .fallback = 1,
     .of = "pressure_hpa", .fallback_without = 10,
     .meaning = "standard uncertainty of the pressure"},
    {"air", "humidity_percent", CW_KEY_NUMBER, OF(air.humidity_percent), .of_recording = true,
     .unit = "%", .low = 0, .high = 100, .fallback = NAN,
     .fallback_text = "standard atmosphere, which is dry", .meaning = "relative humidity"},
    {"air", "humidity_uncertainty_percent", CW_KEY_NUMBER, OF(air.humidity_uncertainty_percent),
     .of_recording = true, .unit = "%", .low = 0, .high = 100, .fallback = 10,
     .of = "humidity_percent", .fallback_without = 50,
     .meaning = "standard uncertainty of the humidity"},
    {"air", "wind_along_ms", CW_KEY_NUMBER, OF(wind_along_ms), .unit = "m/s", .low = -10,
     .high = 10, .fallback = 0,
     .meaning = "mean wind along the road; + is a headwind going down, or to who rides a road "
                "there and back as its first run did (such runs tell the wind themselves)"},
    {"air", "wind_uncertainty_ms", CW_KEY_NUMBER, OF(wind_uncertainty_ms), .unit = "m/s", .low = 0,
     .high = 10, .fallback = 0.3, .meaning = "standard uncertainty of the mean wind"},
    {"setup", "description", CW_KEY_TEXT, OF_SETUP(description),
     .meaning = "what the setup is, in words"},
    {"setup", "load_kg", CW_KEY_NUMBER, OF_SETUP(load_kg), .unit = "kg", .low = 0, .high = 100,
     .fallback = 0, .meaning = "what the setup adds to the mass of rider and bike"},
    {"setup", "tyres", CW_KEY_TEXT, OF_SETUP(tyres), .fallback_text = "all",
     .meaning = "a name for the tyres; setups on the same tyres share one Crr"},
    {"rolling", "crr", CW_KEY_NUMBER, OF(crr), .unit = "", .low = 0.001, .high = 0.05,
     .fallback = NAN, .fallback_text = "found by the fit",
     .meaning = "rolling coefficient, only where it is known and is not to be fitted"},
    {"rolling", "crr_uncertainty", CW_KEY_NUMBER, OF(crr_uncertainty), .unit = "", .low = 0,
     .high = 0.02, .fallback = 0.0005, .of = "crr", .fallback_without = NAN,
     .meaning = "standard uncertainty of that coefficient"},
    {"runs", "order", CW_KEY_ORDER, OF(order),
     .meaning = "the setup of each run kept, in time order"},
    {"runs", "skip", CW_KEY_SKIP, OF(skip),
     .meaning = "runs to leave out, by the numbers that coastwise runs prints"},
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

const char *cw_nearest(const char *word, const char *const *names, size_t n) {
    const char *nearest = NULL;
    size_t fewest = (size_t)-1;
    for (size_t i = 0; i < n; i++) {
        size_t begun = strlen(word);
        size_t changes =
            begun > 2 && !strncmp(word, names[i], begun) ? 0 : distance(word, names[i]);
        if (changes < fewest) {
            fewest = changes;
            nearest = names[i];
        }
    }
    return nearest;
}
