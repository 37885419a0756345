#include "recording/recording.h"

#include <stdlib.h>
#include <string.h>

#include "recording/clean.h"
#include "recording/gpx.h"
#include "recording/points.h"
#include "recording/source.h"
#include "recording/tcx.h"
#include "recording/xml.h"

/* While the root element has not come, the format is unknown and handler NULL. */
struct dispatch {
    const struct cw_xml_handler *handler;
    enum cw_format format;
    struct cw_points points;
};

static enum cw_status start(void *state, const struct cw_xml *xml, struct cw_error *error) {
    struct dispatch *dispatch = state;
    if (!dispatch->handler) {
        const char *root = xml->path[0];
        if (strcmp(root, "gpx") == 0) {
            dispatch->handler = &cw_gpx_handler;
            dispatch->format = CW_FORMAT_GPX;
        } else if (strcmp(root, "TrainingCenterDatabase") == 0) {
            dispatch->handler = &cw_tcx_handler;
            dispatch->format = CW_FORMAT_TCX;
        } else {
            return cw_error_set(error, CW_E_FORMAT, dispatch->points.file, xml->line,
                                "is XML, but its root is <%.40s>, not <gpx> or "
                                "<TrainingCenterDatabase>: export the ride as GPX or TCX",
                                root);
        }
    }
    return dispatch->handler->start(&dispatch->points, xml, error);
}

static enum cw_status end(void *state, const struct cw_xml *xml, const char *text, size_t length,
                          struct cw_error *error) {
    struct dispatch *dispatch = state;
    return dispatch->handler->end(&dispatch->points, xml, text, length, error);
}

static void warn_of_gzip(struct cw_warnings *warnings, enum cw_source_fault fault) {
    switch (fault) {
    case CW_SOURCE_WHOLE:
        return;
    case CW_SOURCE_CUT:
        cw_warning_add(warnings, CW_RECORDING_GZIP_CUT, 0,
                       "the gzip is cut short: read as far as it goes");
        return;
    case CW_SOURCE_DAMAGED:
        cw_warning_add(warnings, CW_RECORDING_GZIP_DAMAGED, 0,
                       "the gzip is damaged: read as far as it can be unpacked");
        return;
    case CW_SOURCE_TRAILING:
        cw_warning_add(warnings, CW_RECORDING_GZIP_TRAILING, 0,
                       "something stands after the end of the gzip: left out");
        return;
    }
}

static const struct cw_warning *find(const struct cw_warnings *warnings, int kind) {
    for (size_t i = 0; i < warnings->n; i++)
        if (warnings->at[i].kind == kind) return &warnings->at[i];
    return NULL;
}

/* Nothing in the file can be used: says why, the first reason first. */
static enum cw_status nothing_usable(const struct cw_recording *recording,
                                     const struct cw_points *points, struct cw_error *error) {
    static const enum cw_recording_warning reasons[] = {
        CW_RECORDING_XML_BROKEN, CW_RECORDING_GZIP_DAMAGED, CW_RECORDING_GZIP_CUT,
        CW_RECORDING_XML_CUT,    CW_RECORDING_TIME_EPOCH,   CW_RECORDING_POSITION_LOST,
    };
    const char *file = recording->file;
    if (find(&recording->warnings, CW_RECORDING_TIME_MISSING))
        return cw_error_set(error, CW_E_FORMAT, file, points->first_line,
                            "no point has a time, so this is a planned route, not a recording: "
                            "export the ride itself");
    for (size_t i = 0; i < sizeof reasons / sizeof *reasons; i++) {
        const struct cw_warning *reason = find(&recording->warnings, (int)reasons[i]);
        if (reason)
            return cw_error_set(error, CW_E_FORMAT, file, reason->first_line, "no usable point: %s",
                                reason->text);
    }
    if (points->seen)
        return cw_error_set(error, CW_E_FORMAT, file, points->first_line,
                            "no track point holds anything but a time");
    if (points->routes || points->courses)
        return cw_error_set(error, CW_E_FORMAT, file, points->other_line,
                            "holds a %s to follow, not a recording: export the ride itself",
                            points->routes ? "route" : "course");
    return cw_error_set(error, CW_E_FORMAT, file, 0,
                        "holds no track points%s: export the ride itself",
                        points->waypoints ? ", only waypoints" : "");
}

static enum cw_status clean(struct cw_recording *recording, struct cw_error *error) {
    enum cw_status status = cw_clean_order(recording, error);
    if (status) return status;
    cw_clean_positions(recording);
    cw_clean_distance(recording);
    cw_clean_columns(recording);
    return CW_OK;
}

enum cw_status cw_recording_read_source(struct cw_source *source, struct cw_recording *recording,
                                        struct cw_error *error) {
    static const struct cw_xml_handler handler = {start, end};
    *recording = (struct cw_recording){.file = strdup(cw_source_name(source))};
    if (!recording->file) return cw_error_memory(error);
    struct dispatch dispatch = {.points = {.file = recording->file,
                                           .samples = &recording->samples,
                                           .warnings = &recording->warnings}};
    enum cw_status status = cw_xml_read(source, &handler, &dispatch, &recording->warnings, error);
    if (status) return status;
    recording->format = dispatch.format;
    warn_of_gzip(&recording->warnings, cw_source_fault(source));
    const struct cw_points *points = &dispatch.points;
    if (recording->samples.n == 0) return nothing_usable(recording, points, error);
    if (points->routes || points->courses)
        cw_warning_add(&recording->warnings, CW_RECORDING_NOT_RIDDEN, points->other_line,
                       "a route or course beside the ride: left out");
    return clean(recording, error);
}

enum cw_status cw_recording_read(const char *path, struct cw_recording *recording,
                                 struct cw_error *error) {
    struct cw_source *source = NULL;
    *recording = (struct cw_recording){0};
    enum cw_status status = cw_source_open(path, &source, error);
    if (!status) status = cw_recording_read_source(source, recording, error);
    cw_source_close(source);
    return status;
}

enum cw_status cw_recording_read_memory(const void *bytes, size_t length, const char *name,
                                        struct cw_recording *recording, struct cw_error *error) {
    struct cw_source *source = NULL;
    *recording = (struct cw_recording){0};
    enum cw_status status = cw_source_open_memory(bytes, length, name, &source, error);
    if (!status) status = cw_recording_read_source(source, recording, error);
    cw_source_close(source);
    return status;
}

void cw_recording_free(struct cw_recording *recording) {
    free(recording->file);
    cw_samples_free(&recording->samples);
    *recording = (struct cw_recording){0};
}

const char *cw_format_text(enum cw_format format) {
    return format == CW_FORMAT_GPX ? "GPX" : "TCX";
}
