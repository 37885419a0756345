#include "recording/gpx.h"

#include <stdbool.h>
#include <string.h>

#include "recording/points.h"

/* Elements that hold a value. Extensions give the same things in many places and namespaces
 * (TrackPointExtension, PowerExtension, GPXDATA, bare), so only the name counts; but what GPX
 * itself has must stand directly in the point, for extensions repeat <ele> from other sources. */
static const struct {
    const char *name;
    enum cw_quantity quantity;
    bool direct;
} elements[] = {
    {"ele", CW_ELEVATION, true},      {"time", CW_TIME, true},
    {"speed", CW_SPEED, false}, /* GPX 1.0 has it directly; m/s everywhere */
    {"distance", CW_DISTANCE, false}, {"cad", CW_CADENCE, false},
    {"cadence", CW_CADENCE, false},   {"rpm", CW_CADENCE, false},
    {"power", CW_POWER, false},       {"PowerInWatts", CW_POWER, false},
    {"watts", CW_POWER, false},       {"atemp", CW_TEMPERATURE, false},
    {"temp", CW_TEMPERATURE, false},  {"temperature", CW_TEMPERATURE, false},
};

static void read_attribute(struct cw_points *points, const struct cw_xml *xml, const char *name,
                           enum cw_quantity quantity) {
    size_t length;
    const char *value = cw_xml_attribute(xml, name, &length);
    if (value) cw_point_value(points, quantity, value, length, xml->line);
}

static enum cw_status start(void *state, const struct cw_xml *xml, struct cw_error *error) {
    (void)error;
    struct cw_points *points = state;
    const char *name = xml->path[xml->depth - 1];
    if (points->open) return CW_OK;
    if (strcmp(name, "trkpt") == 0) {
        cw_point_begin(points, xml->line);
        read_attribute(points, xml, "lat", CW_LATITUDE);
        read_attribute(points, xml, "lon", CW_LONGITUDE);
    } else if (strcmp(name, "trkseg") == 0) {
        cw_point_boundary(points, CW_BOUNDARY_SEGMENT);
    } else if (strcmp(name, "rtept") == 0) {
        if (points->routes++ == 0) points->other_line = xml->line;
    } else if (strcmp(name, "wpt") == 0) {
        points->waypoints++;
    }
    return CW_OK;
}

static enum cw_status end(void *state, const struct cw_xml *xml, const char *text, size_t length,
                          struct cw_error *error) {
    struct cw_points *points = state;
    if (!points->open) return CW_OK;
    const char *name = xml->path[xml->depth - 1];
    if (strcmp(name, "trkpt") == 0) return cw_point_end(points, error);
    bool direct = strcmp(cw_xml_parent(xml), "trkpt") == 0;
    for (size_t i = 0; i < sizeof elements / sizeof *elements; i++) {
        if (strcmp(elements[i].name, name) == 0) {
            if (direct || !elements[i].direct)
                cw_point_value(points, elements[i].quantity, text, length, xml->line);
            break;
        }
    }
    return CW_OK;
}

const struct cw_xml_handler cw_gpx_handler = {start, end};
