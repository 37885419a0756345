#include "recording/write.h"

#include <math.h>
#include <stdlib.h>
#include <zlib.h>

#include "base/number.h"
#include "base/write.h"

/* One element on a line of its own, where there is a value. */
static void add_value(struct cw_text *text, const char *element, double value, int decimals) {
    if (!isfinite(value)) return;
    cw_text_add(text, "<%s>", element);
    cw_text_add_number(text, value, decimals);
    cw_text_add(text, "</%s>\n", element);
}

static void add_time(struct cw_text *text, const char *element, double time_s) {
    char time[40];
    if (!isfinite(time_s)) return;
    cw_time_write(time_s, time, sizeof time);
    cw_text_add(text, "<%s>%s</%s>\n", element, time, element);
}

static bool has_position(const struct cw_sample *sample) {
    return isfinite(sample->latitude_deg) && isfinite(sample->longitude_deg);
}

static void add_gpx_point(struct cw_text *text, const struct cw_sample *sample) {
    cw_text_add(text, "<trkpt lat=\"");
    cw_text_add_number(text, sample->latitude_deg, 7);
    cw_text_add(text, "\" lon=\"");
    cw_text_add_number(text, sample->longitude_deg, 7);
    cw_text_add(text, "\">\n");
    add_value(text, "ele", sample->elevation_m, 3);
    add_time(text, "time", sample->time_s);
    bool track_point = isfinite(sample->temperature_c) || isfinite(sample->cadence_rpm) ||
                       isfinite(sample->speed_ms) || isfinite(sample->distance_m);
    bool power = isfinite(sample->power_w);
    if (track_point || power) cw_text_add(text, "<extensions>\n");
    if (track_point) {
        cw_text_add(text, "<gpxtpx:TrackPointExtension>\n");
        add_value(text, "gpxtpx:atemp", sample->temperature_c, 3);
        add_value(text, "gpxtpx:cad", sample->cadence_rpm, 0);
        add_value(text, "gpxtpx:speed", sample->speed_ms, 3);
        add_value(text, "gpxtpx:distance", sample->distance_m, 3);
        cw_text_add(text, "</gpxtpx:TrackPointExtension>\n");
    }
    add_value(text, "pwr:PowerInWatts", sample->power_w, 0);
    if (track_point || power) cw_text_add(text, "</extensions>\n");
    cw_text_add(text, "</trkpt>\n");
}

static size_t add_gpx(const struct cw_samples *samples, const char *name, struct cw_text *text) {
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
        if (!has_position(&sample)) continue;
        if (written && broken) cw_text_add(text, "</trkseg>\n<trkseg>\n");
        broken = false;
        add_gpx_point(text, &sample);
        written++;
    }
    cw_text_add(text, "</trkseg>\n</trk>\n</gpx>\n");
    return written;
}

static void add_tcx_point(struct cw_text *text, const struct cw_sample *sample) {
    cw_text_add(text, "<Trackpoint>\n");
    add_time(text, "Time", sample->time_s);
    if (has_position(sample)) {
        cw_text_add(text, "<Position>\n");
        add_value(text, "LatitudeDegrees", sample->latitude_deg, 7);
        add_value(text, "LongitudeDegrees", sample->longitude_deg, 7);
        cw_text_add(text, "</Position>\n");
    }
    add_value(text, "AltitudeMeters", sample->elevation_m, 3);
    add_value(text, "DistanceMeters", sample->distance_m, 3);
    add_value(text, "Cadence", sample->cadence_rpm, 0);
    if (isfinite(sample->speed_ms) || isfinite(sample->power_w)) {
        cw_text_add(text, "<Extensions>\n<ns3:TPX>\n");
        add_value(text, "ns3:Speed", sample->speed_ms, 3);
        add_value(text, "ns3:Watts", sample->power_w, 0);
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

static size_t add_tcx(const struct cw_samples *samples, const char *name, struct cw_text *text) {
    cw_text_add(text, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                      "<TrainingCenterDatabase\n"
                      " xmlns=\"http://www.garmin.com/xmlschemas/TrainingCenterDatabase/v2\"\n"
                      " xmlns:ns3=\"http://www.garmin.com/xmlschemas/ActivityExtension/v2\">\n"
                      "<Activities>\n<Activity Sport=\"Biking\">\n");
    char start[40] = "";
    if (samples->n) cw_time_write(samples->time_s[0], start, sizeof start);
    cw_text_add(text, "<Id>%s</Id>\n<Lap StartTime=\"%s\">\n", start, start);
    double duration_s = samples->n ? samples->time_s[samples->n - 1] - samples->time_s[0] : 0;
    add_value(text, "TotalTimeSeconds", duration_s, 3);
    add_value(text, "DistanceMeters", last_distance(samples), 3);
    cw_text_add(text, "<Calories>0</Calories>\n<Intensity>Active</Intensity>\n"
                      "<TriggerMethod>Manual</TriggerMethod>\n<Track>\n");
    for (size_t i = 0; i < samples->n; i++) {
        struct cw_sample sample = cw_samples_get(samples, i);
        if (i && sample.break_before) cw_text_add(text, "</Track>\n<Track>\n");
        add_tcx_point(text, &sample);
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

enum cw_status cw_recording_add_text(const struct cw_samples *samples, enum cw_format format,
                                     const char *name, struct cw_text *text,
                                     struct cw_error *error) {
    size_t written =
        format == CW_FORMAT_GPX ? add_gpx(samples, name, text) : add_tcx(samples, name, text);
    if (text->failed) return cw_error_memory(error);
    if (!written)
        return cw_error_set(error, CW_E_DATA, NULL, 0, "there are no track points to write");
    return CW_OK;
}

static enum cw_status write_gzip(const char *path, const struct cw_text *text,
                                 struct cw_error *error) {
    /* 16 added to the window bits asks for a gzip header; its time stamp stays 0. */
    z_stream stream = {0};
    if (deflateInit2(&stream, Z_BEST_COMPRESSION, Z_DEFLATED, MAX_WBITS + 16, 9,
                     Z_DEFAULT_STRATEGY) != Z_OK)
        return cw_error_memory(error);
    enum cw_status status = CW_OK;
    unsigned char *packed = NULL;
    if (text->length > 0xffffffffu) {
        status = cw_error_set(error, CW_E_WRITE, path, 0, "is larger than 4 GB");
        goto cleanup;
    }
    uLong room = deflateBound(&stream, (uLong)text->length);
    packed = malloc(room);
    if (!packed) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    stream.next_in = (Bytef *)text->bytes;
    stream.avail_in = (uInt)text->length;
    stream.next_out = packed;
    stream.avail_out = (uInt)room;
    if (deflate(&stream, Z_FINISH) != Z_STREAM_END) {
        status = cw_error_set(error, CW_E_WRITE, path, 0, "cannot be compressed");
        goto cleanup;
    }
    status = cw_file_write(path, packed, stream.total_out, error);
cleanup:
    deflateEnd(&stream);
    free(packed);
    return status;
}

enum cw_status cw_recording_write(const char *path, const struct cw_samples *samples,
                                  enum cw_format format, bool gzip, const char *name,
                                  struct cw_error *error) {
    struct cw_text text = {0};
    enum cw_status status = cw_recording_add_text(samples, format, name, &text, error);
    if (!status)
        status = gzip ? write_gzip(path, &text, error)
                      : cw_file_write(path, text.bytes, text.length, error);
    cw_text_free(&text);
    return status;
}
