/* A recording: one GPX or TCX file, read into samples and cleaned of what no ride can contain. */
#ifndef CW_RECORDING_RECORDING_H
#define CW_RECORDING_RECORDING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/warning.h"
#include "recording/samples.h"

enum cw_format { CW_FORMAT_GPX, CW_FORMAT_TCX };

struct cw_recording {
    char *file; /* as it was named by the caller; "-" for standard input */
    enum cw_format format;
    struct cw_samples samples;
    /* A column that holds something useful. Cadence that is 0 throughout is no sensor; elevation
     * that never changes is none. */
    bool has_position, has_elevation, has_speed, has_distance, has_cadence, has_power,
        has_temperature;
    struct cw_warnings warnings;
};

/* Reads path ("-" is standard input), plain or gzip, GPX 1.0/1.1 or TCX v2, by content. After
 * it the times rise strictly. CW_E_READ: cannot be opened or read; CW_E_FORMAT: not a recording,
 * or nothing in it can be used (with the line). Free with cw_recording_free, also after an error.
 */
enum cw_status cw_recording_read(const char *path, struct cw_recording *recording,
                                 struct cw_error *error);

/* The same from memory; name stands for the file in messages. */
enum cw_status cw_recording_read_memory(const void *bytes, size_t length, const char *name,
                                        struct cw_recording *recording, struct cw_error *error);

void cw_recording_free(struct cw_recording *recording);

#endif
