/* GPX 1.0 and 1.1 with the extensions that bicycle devices write. */
#include <math.h>
#include <string.h>

#include "recording/element.h"
#include "recording/format_type.h"
#include "recording/xml.h"

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

/* Most names differ in their first letter. */
static bool same(const char *a, const char *b) {
    return *a == *b && !strcmp(a, b);
}

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
    if (xml->depth == 1) {
        size_t length;
        const char *creator = cw_xml_attribute(xml, "creator", &length);
        if (creator) cw_points_device(points, creator, length);
    }
    if (same(name, "trkpt")) {
        cw_point_begin(points, xml->line);
        read_attribute(points, xml, "lat", CW_LATITUDE);
        read_attribute(points, xml, "lon", CW_LONGITUDE);
    } else if (same(name, "trkseg")) {
        cw_point_boundary(points, CW_BOUNDARY_SEGMENT);
    } else if (same(name, "rtept")) {
        if (points->routes++ == 0) points->other_line = xml->line;
    } else if (same(name, "wpt")) {
        points->waypoints++;
    }
    return CW_OK;
}

static enum cw_status end(void *state, const struct cw_xml *xml, const char *text, size_t length,
                          struct cw_error *error) {
    struct cw_points *points = state;
    if (!points->open) return CW_OK;
    const char *name = xml->path[xml->depth - 1];
    if (same(name, "trkpt")) return cw_point_end(points, error);
    bool direct = same(cw_xml_parent(xml), "trkpt");
    for (size_t i = 0; i < sizeof elements / sizeof *elements; i++) {
        if (same(elements[i].name, name)) {
            if (direct || !elements[i].direct)
                cw_point_value(points, elements[i].quantity, text, length, xml->line);
            break;
        }
    }
    return CW_OK;
}

static enum cw_status read_points(struct cw_source *source, struct cw_points *points,
                                  struct cw_error *error) {
    static const struct cw_xml_handler handler = {start, end};
    return cw_xml_read(source, &handler, points, points->warnings, error);
}

static enum cw_status sniff(const char *head, size_t length, bool *is, struct cw_error *error) {
    return cw_xml_has_root(head, length, "gpx", is, error);
}

static void add_point(struct cw_text *text, const struct cw_sample *sample) {
    cw_text_add(text, "<trkpt lat=\"");
    cw_text_add_number(text, sample->latitude_deg, 7);
    cw_text_add(text, "\" lon=\"");
    cw_text_add_number(text, sample->longitude_deg, 7);
    cw_text_add(text, "\">\n");
    cw_element_add(text, "ele", sample->elevation_m, 3);
    cw_element_add_time(text, "time", sample->time_s);
    bool track_point = isfinite(sample->temperature_c) || isfinite(sample->cadence_rpm) ||
                       isfinite(sample->speed_ms) || isfinite(sample->distance_m);
    bool power = isfinite(sample->power_w);
    if (track_point || power) cw_text_add(text, "<extensions>\n");
    if (track_point) {
        cw_text_add(text, "<gpxtpx:TrackPointExtension>\n");
        cw_element_add(text, "gpxtpx:atemp", sample->temperature_c, 3);
        cw_element_add(text, "gpxtpx:cad", sample->cadence_rpm, 0);
        cw_element_add(text, "gpxtpx:speed", sample->speed_ms, 3);
        cw_element_add(text, "gpxtpx:distance", sample->distance_m, 3);
        cw_text_add(text, "</gpxtpx:TrackPointExtension>\n");
    }
    cw_element_add(text, "pwr:PowerInWatts", sample->power_w, 0);
    if (track_point || power) cw_text_add(text, "</extensions>\n");
    cw_text_add(text, "</trkpt>\n");
}

static size_t write_samples(const struct cw_samples *samples, const char *name,
                            struct cw_text *text) {
    cw_text_add(text, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                      "<gpx version=\"1.1\" creator=\"coastwise\"\n"
                      " xmlns=\"http://www.topografix.com/GPX/1/1\"\n"
                      " xmlns:gpxtpx=\"http://www.garmin.com/xmlschemas/TrackPointExtension/v2\"\n"
                      " xmlns:pwr=\"http://www.garmin.com/xmlschemas/PowerExtension/v1\">\n"
                      "<trk>\n");
    if (name) {
        cw_text_add(text, "<name>");
        cw_text_add_escaped(text, name);
        cw_text_add(text, "</name>\n");
    }
    cw_text_add(text, "<trkseg>\n");
    size_t written = 0;
    bool broken = false;
    for (size_t i = 0; i < samples->n; i++) {
        struct cw_sample sample = cw_samples_get(samples, i);
        broken = broken || sample.break_before;
        if (!cw_sample_has_position(&sample)) continue;
        if (written && broken) cw_text_add(text, "</trkseg>\n<trkseg>\n");
        broken = false;
        add_point(text, &sample);
        written++;
    }
    cw_text_add(text, "</trkseg>\n</trk>\n</gpx>\n");
    return written;
}

const struct cw_format_type cw_format_gpx = {.sniff = sniff,
                                             .read = read_points,
                                             .write = write_samples,
                                             .needs_position = true,
                                             .holds_temperature = true};
