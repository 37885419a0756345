/* Recordings that share time: mostly the same ride twice, under two names or in two formats, whose
 * runs would count double. */
#ifndef CW_RECORDING_OVERLAP_H
#define CW_RECORDING_OVERLAP_H

#include <stddef.h>

#include "base/error.h"
#include "recording/recording.h"

/* CW_E_FORMAT, naming both, when two of the n recordings of one rider share time; the second of
 * them is the error's file. rider[i] is who rode recording i; NULL: one rider rode them all. */
enum cw_status cw_recordings_check_overlap(const struct cw_recording *recordings,
                                           const size_t *rider, size_t n, struct cw_error *error);

#endif
