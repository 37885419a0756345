/* Reading a file into a recording, cleaned of what no ride can contain. */
#ifndef CW_RECORDING_READ_H
#define CW_RECORDING_READ_H

#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "recording/recording.h"

CW_PUBLIC_BEGIN

/* Reads path ("-" is standard input), plain or gzip, GPX 1.0/1.1 or TCX v2, by content, in one
 * streaming pass: memory grows with the samples only. After it
 * - the times rise strictly; points of the same time are one sample;
 * - samples at 0,0 or a pole, without a time or with nothing but one are gone;
 * - distance never falls: where it starts anew it goes on by what speed, or else position, says
 *   was ridden in between; where it steps back, or stands still while the rider does not, it is
 *   missing;
 * - break_before is set at each track segment, where a position was lost, and at a TCX lap or
 *   track unless a lap goes on in time and place.
 * All that was mended is in the warnings. CW_E_READ: cannot be opened or read; CW_E_FORMAT: not a
 * recording, or nothing in it can be used (with the line); CW_E_MEMORY. Free with
 * cw_recording_free, also after an error. */
enum cw_status cw_recording_read(const char *path, struct cw_recording *recording,
                                 struct cw_error *error);

/* The same from memory; name stands for the file in messages. */
enum cw_status cw_recording_read_memory(const void *bytes, size_t length, const char *name,
                                        struct cw_recording *recording, struct cw_error *error);

CW_PUBLIC_END

#endif
