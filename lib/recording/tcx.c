#include "recording/tcx.h"

#include <stdbool.h>
#include <string.h>

#include "recording/points.h"

/* Elements that hold a value, by what they must stand in (NULL: anywhere in the point). Those of
 * an extension come in its namespace or in that of TCX, under any prefix. RunCadence is a
 * runner's and not read. */
static const struct {
    const char *name, *parent;
    enum cw_quantity quantity;
} elements[] = {
    {"Time", "Trackpoint", CW_TIME},
    {"LatitudeDegrees", "Position", CW_LATITUDE},
    {"LongitudeDegrees", "Position", CW_LONGITUDE},
    {"AltitudeMeters", "Trackpoint", CW_ELEVATION},
    {"DistanceMeters", "Trackpoint", CW_DISTANCE},
    {"Cadence", "Trackpoint", CW_CADENCE},
    {"Speed", NULL, CW_SPEED},
    {"SpeedMetersSec", NULL, CW_SPEED},
    {"Watts", NULL, CW_POWER},
};

static bool is_in(const struct cw_xml *xml, const char *name) {
    for (int i = 0; i < xml->depth; i++)
        if (strcmp(xml->path[i], name) == 0) return true;
    return false;
}

static enum cw_status start(void *state, const struct cw_xml *xml, struct cw_error *error) {
    (void)error;
    struct cw_points *points = state;
    const char *name = xml->path[xml->depth - 1];
    if (points->open) return CW_OK;
    if (strcmp(name, "Trackpoint") == 0) {
        if (!is_in(xml, "Course"))
            cw_point_begin(points, xml->line);
        else if (points->courses++ == 0)
            points->other_line = xml->line;
    } else if (strcmp(name, "Lap") == 0 || strcmp(name, "Activity") == 0) {
        points->first_track = true;
        if (strcmp(name, "Activity") == 0) cw_point_boundary(points, CW_BOUNDARY_SEGMENT);
    } else if (strcmp(name, "Track") == 0) {
        /* A lap's first track may go on from the lap before; a second one is after a pause. */
        cw_point_boundary(points, points->first_track ? CW_BOUNDARY_LAP : CW_BOUNDARY_SEGMENT);
        points->first_track = false;
    }
    return CW_OK;
}

static enum cw_status end(void *state, const struct cw_xml *xml, const char *text, size_t length,
                          struct cw_error *error) {
    struct cw_points *points = state;
    if (!points->open) return CW_OK;
    const char *name = xml->path[xml->depth - 1], *parent = cw_xml_parent(xml);
    if (strcmp(name, "Trackpoint") == 0) return cw_point_end(points, error);
    for (size_t i = 0; i < sizeof elements / sizeof *elements; i++) {
        if (strcmp(elements[i].name, name) == 0) {
            if (!elements[i].parent || strcmp(elements[i].parent, parent) == 0)
                cw_point_value(points, elements[i].quantity, text, length, xml->line);
            break;
        }
    }
    return CW_OK;
}

const struct cw_xml_handler cw_tcx_handler = {start, end};
