/* A recording: one file of a ride, as samples, with what was wrong in it. */
#ifndef CW_RECORDING_RECORDING_H
#define CW_RECORDING_RECORDING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "base/warning.h"
#include "recording/format.h"
#include "recording/samples.h"

CW_PUBLIC_BEGIN

/* Kinds of the warnings that a recording carries. */
enum cw_recording_warning {
    CW_RECORDING_GZIP_CUT = 1,
    CW_RECORDING_GZIP_DAMAGED,
    CW_RECORDING_GZIP_TRAILING,
    CW_RECORDING_XML_CUT,      /* the file ends before its root element does */
    CW_RECORDING_XML_BROKEN,   /* not well formed: read up to there */
    CW_RECORDING_XML_TRAILING, /* something after the end of the root element */
    CW_RECORDING_XML_STRAY,    /* a stray '&' or an unknown entity */
    CW_RECORDING_NOT_RIDDEN,   /* routes or courses beside the tracks */
    CW_RECORDING_NUMBER_COMMA,
    CW_RECORDING_NUMBER_BAD,
    CW_RECORDING_RANGE_POSITION, /* a value that no ride can have: missing */
    CW_RECORDING_RANGE_ELEVATION,
    CW_RECORDING_RANGE_DISTANCE,
    CW_RECORDING_RANGE_SPEED,
    CW_RECORDING_RANGE_CADENCE,
    CW_RECORDING_RANGE_POWER,
    CW_RECORDING_RANGE_TEMPERATURE,
    CW_RECORDING_TIME_MISSING,
    CW_RECORDING_TIME_BAD,   /* cannot be read */
    CW_RECORDING_TIME_EPOCH, /* a clock that was not set */
    CW_RECORDING_TIME_ORDER,
    CW_RECORDING_TIME_SPIKE,
    CW_RECORDING_TIME_DUPLICATE,
    CW_RECORDING_POSITION_LOST, /* 0,0 or a pole */
    CW_RECORDING_POSITION_JUMP,
    CW_RECORDING_DISTANCE_RESTART,
    CW_RECORDING_DISTANCE_BACK,
    CW_RECORDING_DISTANCE_FROZEN,
    CW_RECORDING_NO_ELEVATION,
    CW_RECORDING_NO_CADENCE, /* 0 throughout */
    CW_RECORDING_NO_POWER,
    CW_RECORDING_NO_SPEED
};

#define CW_DEVICE_NAME 64

struct cw_recording {
    char *file; /* owned; as it was named by the caller; "-" for standard input */
    enum cw_format format;
    char
        device[CW_DEVICE_NAME]; /* what wrote it, as the file says (cut short); "" if it does not */
    double
        utc_offset_s; /* of local time, as its first time says it (+01:00); 0 where that is UTC */
    struct cw_samples samples;
    /* A column that holds something useful. Cadence, power or speed that is 0 throughout is no
     * sensor, elevation that never changes is none: such a column is made missing. */
    bool has_position, has_elevation, has_speed, has_distance, has_cadence, has_power,
        has_temperature;
    struct cw_warnings warnings;
};

/* Frees what the recording holds; it is empty afterwards. */
void cw_recording_free(struct cw_recording *recording);

CW_PUBLIC_END

#endif
