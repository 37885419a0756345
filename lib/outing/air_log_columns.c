#include "outing/air_log_columns.h"

#include <math.h>
#include <string.h>

#include "outing/air_log.h"
#include "outing/keys.h"

/* A mile is 1609.344 m, a knot 1852 m/h, exactly. */
#define KMH 3.6
#define MPH (3600 / 1609.344)
#define KN (3600 / 1852.0)
#define DEGREES (180 / 3.14159265358979323846)

/* A hurricane begins at 32.7 m/s (Beaufort's scale, from memory); more than this is a sensor's
 * fault or another unit. */
#define WIND_MOST_MS 40.0

#define OF(field) .offset = offsetof(struct cw_air_log, field)

static const struct cw_air_log_column columns[] = {
    {"wind_along_ms", OF(wind_along_ms), "m/s", 1, -WIND_MOST_MS, WIND_MOST_MS,
     .meaning = "wind along the road, + as the outing file's wind_along_ms has it"},
    {"wind_speed_ms", OF(wind_speed_ms), "m/s", 1, 0, WIND_MOST_MS,
     .meaning = "in place of that, the wind's speed, with wind_from_deg"},
    {"wind_speed_kmh", OF(wind_speed_ms), "km/h", KMH, 0, WIND_MOST_MS *KMH, .meaning = "the same"},
    {"wind_speed_mph", OF(wind_speed_ms), "mph", MPH, 0, WIND_MOST_MS *MPH, .meaning = "the same"},
    {"wind_speed_kn", OF(wind_speed_ms), "kn", KN, 0, WIND_MOST_MS *KN, .meaning = "the same"},
    {"wind_from_deg", OF(wind_from_rad), "degrees", DEGREES, 0, 360,
     .meaning = "where that wind comes from, clockwise from true north; it may be blank in a calm"},
    {"temperature_c", OF(temperature_c), "°C", 1, NAN, NAN, .meaning = "temperature"},
    {"pressure_hpa", OF(pressure_hpa), "hPa", 1, NAN, NAN,
     .meaning = "pressure where it was measured, not reduced to sea level"},
    {"humidity_percent", OF(humidity_percent), "%", 1, NAN, NAN, .meaning = "relative humidity"},
};

_Static_assert(sizeof columns / sizeof *columns == CW_AIR_LOG_COLUMN_COUNT,
               "CW_AIR_LOG_COLUMN_COUNT is off");

const struct cw_air_log_column *cw_air_log_columns(size_t *n) {
    *n = CW_AIR_LOG_COLUMN_COUNT;
    return columns;
}

void cw_air_log_column_range(const struct cw_air_log_column *column, double *low, double *high) {
    const struct cw_outing_key *key =
        isnan(column->low) ? cw_outing_key_find("air", column->name) : NULL;
    *low = key ? key->low : column->low;
    *high = key ? key->high : column->high;
}

bool cw_air_log_column_is_meant(const struct cw_air_log_column *column, const char *name) {
    size_t quantity = (size_t)(strrchr(column->name, '_') - column->name);
    if (strncmp(name, column->name, quantity)) return false;
    const char *rest = name + quantity;
    return !*rest || (*rest == '_' && !strchr(rest + 1, '_'));
}
