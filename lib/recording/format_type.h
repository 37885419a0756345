/* What a format of recordings is to the rest of the room: how it is told, read and written. Each is
 * defined in the file that is named after it. */
#ifndef CW_RECORDING_FORMAT_TYPE_H
#define CW_RECORDING_FORMAT_TYPE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "recording/format.h"
#include "recording/points.h"
#include "recording/samples.h"
#include "recording/source.h"

struct cw_format_type {
    /* *is: whether a file that begins so is of this format; that is all of it where length is less
     * than CW_SOURCE_PEEK_MAX. CW_E_MEMORY. */
    enum cw_status (*sniff)(const char *head, size_t length, bool *is, struct cw_error *error);
    /* Hands the points of a file on, in the order in which they stand there. CW_E_READ,
     * CW_E_FORMAT, CW_E_MEMORY; what is only doubtful is a warning (points->warnings). */
    enum cw_status (*read)(struct cw_source *source, struct cw_points *points,
                           struct cw_error *error);
    /* Adds a file of the samples; name: what the ride is called, or NULL. Returns how many of the
     * samples it holds. */
    size_t (*write)(const struct cw_samples *samples, const char *name, struct cw_text *text);
    bool needs_position;    /* a sample without one is left out when writing */
    bool holds_temperature; /* which is left out otherwise */
};

#define CW_FORMAT_TYPE(name, word) extern const struct cw_format_type cw_format_##word;
CW_FORMAT_LIST(CW_FORMAT_TYPE)
#undef CW_FORMAT_TYPE

const struct cw_format_type *cw_format_type(enum cw_format format);

#endif
