/* Writes samples as a recording: GPX 1.1 or TCX v2, plain or gzip. */
#ifndef CW_RECORDING_WRITE_H
#define CW_RECORDING_WRITE_H

#include <stdbool.h>

#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "recording/recording.h"

CW_PUBLIC_BEGIN

/* Whether the format can't hold a sample that has no position. */
bool cw_recording_needs_position(enum cw_format format);
/* Whether the format has a place for the temperature that a device recorded. */
bool cw_recording_holds_temperature(enum cw_format format);

/* Adds the recording to *text. Only what a sample has is written; a break begins a new track
 * segment (GPX) or Track (TCX). name: the track's name or the activity's notes, NULL for none.
 *
 * GPX: speed, cadence, distance and temperature go into a TrackPointExtension v2 (distance, which
 * its schema lacks, the way devices put it there), power into a PowerExtension v1. A GPX point
 * must have a position: samples without one are left out. TCX has no place for temperature.
 * Positions keep 7 decimals (1 cm), times milliseconds, the rest 3 decimals; cadence and power
 * are whole numbers.
 *
 * CW_E_DATA when no sample can be written, CW_E_MEMORY. */
enum cw_status cw_recording_add_text(const struct cw_samples *samples, enum cw_format format,
                                     const char *name, struct cw_text *text,
                                     struct cw_error *error);

/* The same into a file, whole or not at all; gzip: compressed, byte for byte the same every time.
 * Also CW_E_WRITE. */
enum cw_status cw_recording_write(const char *path, const struct cw_samples *samples,
                                  enum cw_format format, bool gzip, const char *name,
                                  struct cw_error *error);

CW_PUBLIC_END

#endif
