/* Track points on their way from the elements of a format to samples: values are read, checked
 * and counted here, the same for each format. */
#ifndef CW_RECORDING_POINTS_H
#define CW_RECORDING_POINTS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/warning.h"
#include "recording/samples.h"

/* Most samples that a recording may have: 46 days at 1 Hz, some 300 MB. */
#define CW_POINTS_MAX 4000000

enum cw_quantity {
    CW_LATITUDE,
    CW_LONGITUDE,
    CW_ELEVATION,
    CW_DISTANCE,
    CW_SPEED,
    CW_CADENCE,
    CW_POWER,
    CW_TEMPERATURE,
    CW_TIME
};

/* What lies between a point and the one before it. */
enum cw_boundary {
    CW_BOUNDARY_NONE,
    CW_BOUNDARY_LAP,     /* the ride may go on across it */
    CW_BOUNDARY_SEGMENT, /* it does not */
};

struct cw_points {
    const char *file;
    struct cw_samples *samples;
    struct cw_warnings *warnings;
    char *device;         /* CW_DEVICE_NAME bytes */
    double *utc_offset_s; /* as the first sample's time says it */
    /* the point being read */
    bool open;
    struct cw_sample sample;
    bool clock_unset;          /* it has a time, but one that stands for none */
    bool time_unread;          /* it has one that cannot be read */
    enum cw_boundary boundary; /* before it */
    bool first_track;          /* the next track of a TCX file is the first of its lap */
    /* what was seen, for a recording that holds nothing usable */
    long seen, routes, courses, waypoints;
    long first_line; /* of a track point */
    long other_line; /* of a route or course */
};

/* Notes what wrote the file; the first that is named counts. */
void cw_points_device(struct cw_points *points, const char *name, size_t length);
/* Starts a point. */
void cw_point_begin(struct cw_points *points, long line);
/* Gives it a value as it stands in the file; the first usable value of a quantity counts. */
void cw_point_value(struct cw_points *points, enum cw_quantity quantity, const char *text,
                    size_t length, long line);
/* Ends it: it becomes a sample, or is dropped if there is no use for it. CW_E_MEMORY; CW_E_FORMAT
 * when there are too many. */
enum cw_status cw_point_end(struct cw_points *points, struct cw_error *error);
/* A boundary before the next point; the sharpest of several counts. */
void cw_point_boundary(struct cw_points *points, enum cw_boundary boundary);

#endif
