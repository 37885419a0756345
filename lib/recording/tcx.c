/* TCX v2 with its ActivityExtension. */
#include <math.h>
#include <string.h>

#include "base/number.h"
#include "recording/element.h"
#include "recording/format_type.h"
#include "recording/xml.h"

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
    const char *name = xml->path[xml->depth - 1], *parent = cw_xml_parent(xml);
    if (!points->open) {
        if (!strcmp(name, "Name") && !strcmp(parent, "Creator"))
            cw_points_device(points, text, length);
        return CW_OK;
    }
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

static enum cw_status read_points(struct cw_source *source, struct cw_points *points,
                                  struct cw_error *error) {
    static const struct cw_xml_handler handler = {start, end};
    return cw_xml_read(source, &handler, points, points->warnings, error);
}

static enum cw_status sniff(const char *head, size_t length, bool *is, struct cw_error *error) {
    return cw_xml_has_root(head, length, "TrainingCenterDatabase", is, error);
}

static void add_point(struct cw_text *text, const struct cw_sample *sample) {
    cw_text_add(text, "<Trackpoint>\n");
    cw_element_add_time(text, "Time", sample->time_s);
    if (cw_sample_has_position(sample)) {
        cw_text_add(text, "<Position>\n");
        cw_element_add(text, "LatitudeDegrees", sample->latitude_deg, 7);
        cw_element_add(text, "LongitudeDegrees", sample->longitude_deg, 7);
        cw_text_add(text, "</Position>\n");
    }
    cw_element_add(text, "AltitudeMeters", sample->elevation_m, 3);
    cw_element_add(text, "DistanceMeters", sample->distance_m, 3);
    cw_element_add(text, "Cadence", sample->cadence_rpm, 0);
    if (isfinite(sample->speed_ms) || isfinite(sample->power_w)) {
        cw_text_add(text, "<Extensions>\n<ns3:TPX>\n");
        cw_element_add(text, "ns3:Speed", sample->speed_ms, 3);
        cw_element_add(text, "ns3:Watts", sample->power_w, 0);
        cw_text_add(text, "</ns3:TPX>\n</Extensions>\n");
    }
    cw_text_add(text, "</Trackpoint>\n");
}

/* How far the distance column reaches; 0 where there is none. */
static double last_distance(const struct cw_samples *samples) {
    for (size_t i = samples->n; i-- > 0;)
        if (isfinite(samples->distance_m[i])) return samples->distance_m[i];
    return 0;
}

static size_t write_samples(const struct cw_samples *samples, const char *name,
                            struct cw_text *text) {
    cw_text_add(text, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                      "<TrainingCenterDatabase\n"
                      " xmlns=\"http://www.garmin.com/xmlschemas/TrainingCenterDatabase/v2\"\n"
                      " xmlns:ns3=\"http://www.garmin.com/xmlschemas/ActivityExtension/v2\">\n"
                      "<Activities>\n<Activity Sport=\"Biking\">\n");
    char start[40] = "";
    if (samples->n) cw_time_write(samples->time_s[0], start, sizeof start);
    cw_text_add(text, "<Id>%s</Id>\n<Lap StartTime=\"%s\">\n", start, start);
    double duration_s = samples->n ? samples->time_s[samples->n - 1] - samples->time_s[0] : 0;
    cw_element_add(text, "TotalTimeSeconds", duration_s, 3);
    cw_element_add(text, "DistanceMeters", last_distance(samples), 3);
    cw_text_add(text, "<Calories>0</Calories>\n<Intensity>Active</Intensity>\n"
                      "<TriggerMethod>Manual</TriggerMethod>\n<Track>\n");
    for (size_t i = 0; i < samples->n; i++) {
        struct cw_sample sample = cw_samples_get(samples, i);
        if (i && sample.break_before) cw_text_add(text, "</Track>\n<Track>\n");
        add_point(text, &sample);
    }
    cw_text_add(text, "</Track>\n</Lap>\n");
    if (name) {
        cw_text_add(text, "<Notes>");
        cw_text_add_escaped(text, name);
        cw_text_add(text, "</Notes>\n");
    }
    cw_text_add(text, "</Activity>\n</Activities>\n</TrainingCenterDatabase>\n");
    return samples->n;
}

const struct cw_format_type cw_format_tcx = {
    .sniff = sniff, .read = read_points, .write = write_samples};
