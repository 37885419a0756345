/* Reading an air log. */
#ifndef CW_OUTING_AIR_LOG_READ_H
#define CW_OUTING_AIR_LOG_READ_H

#include <stddef.h>

#include "base/error.h"
#include "outing/air_log.h"

#define CW_AIR_LOG_ROWS_MOST 5000000 /* 57 days of seconds */

/* Reads a log, plain or gzip: a header and rows of cells (outing/cells.h), numbers with a point or,
 * where the separator is no comma, with a comma. Its columns: `time`, the end of what the row is
 * the mean over (ISO 8601; without an offset, of a clock utc_offset_s ahead of UTC), later from row
 * to row; `wind_along_ms`, or `wind_speed_ms` (`_kmh`, `_mph`, `_kn`) with `wind_from_deg`;
 * `temperature_c`, `pressure_hpa`, `humidity_percent`; other ones are named in `unused`. A blank
 * cell is NaN.
 * CW_E_READ; CW_E_FORMAT with file and line, where they are known; CW_E_MEMORY. Free with
 * cw_air_log_free, also after an error. */
enum cw_status cw_air_log_read(const char *path, double utc_offset_s, struct cw_air_log *log,
                               struct cw_error *error);
/* The same from memory; name stands for the file in messages. */
enum cw_status cw_air_log_read_memory(const void *bytes, size_t length, const char *name,
                                      double utc_offset_s, struct cw_air_log *log,
                                      struct cw_error *error);

#endif
