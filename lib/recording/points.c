#include "recording/points.h"

#include <math.h>
#include <string.h>

#include "base/number.h"
#include "base/print.h"
#include "recording/place.h"
#include "recording/recording.h"

/* Clocks that were never set say 1970 or 1989; no format here is older than 2000. */
#define TIME_FIRST_S 946684800.0 /* 2000-01-01 */
#define TIME_LAST_S 4102444800.0 /* 2100-01-01 */
#define GAP_MAX_S 10.0           /* across a lap, as within a run */
#define LAP_SLACK_M 20.0         /* wander of positions over a lap's boundary */
#define TIME_SHOWN 40            /* characters of one that cannot be read */
#define POLE_DEG 89.9            /* a device's way to say that it has no position */

struct range {
    const char *name;
    double low, high;
    enum cw_recording_warning kind;
};

/* What a ride can have. Beyond are the marks for "none" of devices (65535, 32767, 255, 254, 127,
 * -1) and plain nonsense. */
static const struct range ranges[] = {
    [CW_LATITUDE] = {"latitude", -90, 90, CW_RECORDING_RANGE_POSITION},
    [CW_LONGITUDE] = {"longitude", -180, 180, CW_RECORDING_RANGE_POSITION},
    [CW_ELEVATION] = {"elevation", -500, 9000, CW_RECORDING_RANGE_ELEVATION},
    [CW_DISTANCE] = {"distance", 0, 1e8, CW_RECORDING_RANGE_DISTANCE},
    [CW_SPEED] = {"speed", 0, CW_SPEED_MAX_MS, CW_RECORDING_RANGE_SPEED},
    [CW_CADENCE] = {"cadence", 0, 253, CW_RECORDING_RANGE_CADENCE},
    [CW_POWER] = {"power", 0, 4000, CW_RECORDING_RANGE_POWER},
    [CW_TEMPERATURE] = {"temperature", -60, 70, CW_RECORDING_RANGE_TEMPERATURE},
};

static double *field(struct cw_sample *sample, enum cw_quantity quantity) {
    switch (quantity) {
    case CW_LATITUDE:
        return &sample->latitude_deg;
    case CW_LONGITUDE:
        return &sample->longitude_deg;
    case CW_ELEVATION:
        return &sample->elevation_m;
    case CW_DISTANCE:
        return &sample->distance_m;
    case CW_SPEED:
        return &sample->speed_ms;
    case CW_CADENCE:
        return &sample->cadence_rpm;
    case CW_POWER:
        return &sample->power_w;
    case CW_TEMPERATURE:
        return &sample->temperature_c;
    case CW_TIME:
        return &sample->time_s;
    }
    return NULL;
}

void cw_points_device(struct cw_points *points, const char *name, size_t length) {
    if (*points->device) return;
    cw_print(points->device, CW_DEVICE_NAME, "%.*s", (int)length, name);
}

void cw_point_begin(struct cw_points *points, long line) {
    points->open = true;
    points->clock_unset = points->time_unread = false;
    points->sample = cw_sample_missing();
    points->sample.line = (int)line;
    if (points->seen++ == 0) points->first_line = line;
}

void cw_point_boundary(struct cw_points *points, enum cw_boundary boundary) {
    if (boundary > points->boundary) points->boundary = boundary;
}

static bool is_blank(const char *text, size_t length) {
    for (size_t i = 0; i < length; i++)
        if (text[i] != ' ' && text[i] != '\t' && text[i] != '\r' && text[i] != '\n') return false;
    return true;
}

/* Writes a number with commas as one with a point. Where both stand, the last is the decimal one
 * and the other groups thousands; a single comma is decimal; several group. */
static bool without_commas(char *text, size_t *length) {
    size_t commas = 0, written = 0, last_comma = 0, last_point = 0;
    bool point = false;
    for (size_t i = 0; i < *length; i++) {
        if (text[i] == ',') commas++, last_comma = i;
        if (text[i] == '.') point = true, last_point = i;
    }
    if (commas == 0) return false;
    bool comma_is_decimal = point ? last_comma > last_point : commas == 1;
    for (size_t i = 0; i < *length; i++) {
        char c = text[i];
        if (c == ',' && comma_is_decimal)
            c = '.';
        else if (c == ',' || (c == '.' && comma_is_decimal))
            continue;
        text[written++] = c;
    }
    *length = written;
    return true;
}

static bool read_number(struct cw_points *points, const char *name, const char *text, size_t length,
                        long line, double *value) {
    char copy[64];
    if (length < sizeof copy) {
        memcpy(copy, text, length);
        bool comma = without_commas(copy, &length);
        if (cw_number_read(copy, length, value)) {
            if (comma)
                cw_warning_add(points->warnings, CW_RECORDING_NUMBER_COMMA, line,
                               "numbers have commas: taken as decimal commas, or as thousands "
                               "where there is a point too");
            return true;
        }
    }
    cw_warning_add(points->warnings, CW_RECORDING_NUMBER_BAD, line,
                   "%s is not a number: taken as missing", name);
    return false;
}

static void read_time(struct cw_points *points, const char *text, size_t length, long line) {
    double time_s;
    if (!cw_time_read(text, length, &time_s)) {
        points->time_unread = true;
        cw_warning_add(points->warnings, CW_RECORDING_TIME_BAD, line,
                       "\"%.*s\" is no time as 2024-05-19T09:00:00Z is: point left out",
                       (int)(length < TIME_SHOWN ? length : TIME_SHOWN), text);
        return;
    }
    points->clock_unset = time_s < TIME_FIRST_S || time_s > TIME_LAST_S;
    if (points->clock_unset) return;
    points->sample.time_s = time_s;
    if (!points->samples->n) *points->utc_offset_s = cw_time_offset_s(text, length);
}

void cw_point_value(struct cw_points *points, enum cw_quantity quantity, const char *text,
                    size_t length, long line) {
    double *to = field(&points->sample, quantity), value;
    if (!isnan(*to) || is_blank(text, length)) return;
    if (quantity == CW_TIME) {
        read_time(points, text, length, line);
        return;
    }
    const struct range *range = &ranges[quantity];
    if (!read_number(points, range->name, text, length, line, &value)) return;
    if (value < range->low || value > range->high)
        cw_warning_add(points->warnings, (int)range->kind, line,
                       "%s %g is outside %g to %g: taken as missing", range->name, value,
                       range->low, range->high);
    else
        *to = value;
}

/* Both or neither; and no position that stands for none. */
static bool position_is_lost(struct cw_sample *sample) {
    if (isnan(sample->latitude_deg) || isnan(sample->longitude_deg))
        sample->latitude_deg = sample->longitude_deg = NAN;
    return fabs(sample->latitude_deg) > POLE_DEG ||
           (sample->latitude_deg == 0 && sample->longitude_deg == 0);
}

static bool holds_nothing(const struct cw_sample *sample) {
    return isnan(sample->latitude_deg) && isnan(sample->elevation_m) && isnan(sample->distance_m) &&
           isnan(sample->speed_ms) && isnan(sample->cadence_rpm) && isnan(sample->power_w);
}

/* Whether the ride goes on from the last sample in time and place. */
static bool goes_on(const struct cw_samples *samples, const struct cw_sample *sample) {
    size_t last = samples->n - 1;
    double step_s = sample->time_s - samples->time_s[last];
    double step_m = cw_place_apart_m(samples->latitude_deg[last], samples->longitude_deg[last],
                                     sample->latitude_deg, sample->longitude_deg);
    return step_s >= 0 && step_s <= GAP_MAX_S &&
           step_m <= LAP_SLACK_M + CW_SPEED_MAX_MS * step_s; /* false where a place is missing */
}

enum cw_status cw_point_end(struct cw_points *points, struct cw_error *error) {
    struct cw_sample *sample = &points->sample;
    points->open = false;
    if (position_is_lost(sample)) {
        cw_warning_add(points->warnings, CW_RECORDING_POSITION_LOST, sample->line,
                       "position is 0,0 or a pole, which stands for none: point left out");
        cw_point_boundary(points, CW_BOUNDARY_SEGMENT);
        return CW_OK;
    }
    if (holds_nothing(sample)) return CW_OK;
    if (isnan(sample->time_s)) {
        if (points->clock_unset)
            cw_warning_add(points->warnings, CW_RECORDING_TIME_EPOCH, sample->line,
                           "time of a clock that was not set: point left out");
        else if (!points->time_unread)
            cw_warning_add(points->warnings, CW_RECORDING_TIME_MISSING, sample->line,
                           "no time: point left out");
        return CW_OK;
    }
    struct cw_samples *samples = points->samples;
    if (samples->n == CW_POINTS_MAX)
        return cw_error_set(error, CW_E_FORMAT, points->file, sample->line,
                            "has more than %d points: cut the recording into shorter ones",
                            CW_POINTS_MAX);
    sample->break_before = samples->n == 0 || points->boundary == CW_BOUNDARY_SEGMENT ||
                           (points->boundary == CW_BOUNDARY_LAP && !goes_on(samples, sample));
    points->boundary = CW_BOUNDARY_NONE;
    enum cw_status status = cw_samples_add(samples, sample);
    return status ? cw_error_memory(error) : CW_OK;
}
