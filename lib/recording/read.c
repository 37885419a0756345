#include "recording/read.h"

#include <stdlib.h>
#include <string.h>

#include "recording/clean.h"
#include "recording/format_type.h"
#include "recording/points.h"
#include "recording/read_source.h"
#include "recording/unknown.h"

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
        CW_RECORDING_XML_BROKEN,    CW_RECORDING_GZIP_DAMAGED, CW_RECORDING_GZIP_CUT,
        CW_RECORDING_XML_CUT,       CW_RECORDING_TIME_BAD,     CW_RECORDING_TIME_EPOCH,
        CW_RECORDING_POSITION_LOST,
    };
    const char *file = recording->file;
    if (find(&recording->warnings, CW_RECORDING_TIME_MISSING) &&
        !find(&recording->warnings, CW_RECORDING_TIME_BAD))
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

/* The format whose sign the file begins with; CW_FORMATS: none of them. */
static enum cw_status find_format(const char *head, size_t length, int *format,
                                  struct cw_error *error) {
    for (*format = 0; *format < CW_FORMATS; ++*format) {
        bool is;
        enum cw_status status =
            cw_format_type((enum cw_format) * format)->sniff(head, length, &is, error);
        if (status || is) return status;
    }
    return CW_OK;
}

static enum cw_status read_points(struct cw_source *source, struct cw_recording *recording,
                                  struct cw_points *points, struct cw_error *error) {
    const char *head;
    size_t length;
    int format;
    enum cw_status status = cw_source_peek(source, &head, &length, error);
    if (!status) status = find_format(head, length, &format, error);
    if (status) return status;
    if (format == CW_FORMATS) return cw_unknown_refuse(source, points, error);
    recording->format = (enum cw_format)format;
    return cw_format_type(recording->format)->read(source, points, error);
}

enum cw_status cw_recording_read_source(struct cw_source *source, struct cw_recording *recording,
                                        struct cw_error *error) {
    *recording = (struct cw_recording){.file = strdup(cw_source_name(source))};
    if (!recording->file) return cw_error_memory(error);
    struct cw_points points = {.file = recording->file,
                               .samples = &recording->samples,
                               .warnings = &recording->warnings,
                               .device = recording->device,
                               .utc_offset_s = &recording->utc_offset_s};
    enum cw_status status = read_points(source, recording, &points, error);
    if (status) return status;
    warn_of_gzip(&recording->warnings, cw_source_fault(source));
    if (recording->samples.n == 0) return nothing_usable(recording, &points, error);
    if (points.routes || points.courses)
        cw_warning_add(&recording->warnings, CW_RECORDING_NOT_RIDDEN, points.other_line,
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
