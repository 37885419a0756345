/* Reading an outing file into an outing. */
#ifndef CW_OUTING_READ_H
#define CW_OUTING_READ_H

#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "outing/outing.h"

CW_PUBLIC_BEGIN

#define CW_OUTING_BYTES_MAX (1024 * 1024) /* of the file */

/* Reads an outing file, plain or gzip; "-" is standard input, its paths then relative to the
 * current folder.
 * CW_E_READ (the file, or a recording that it names, cannot be read) or CW_E_FORMAT with file and
 * line; unknown names suggest the nearest known. Free with cw_outing_free, also after an error. */
enum cw_status cw_outing_read(const char *path, struct cw_outing *outing, struct cw_error *error);
/* The same from memory; path stands for the file in messages and gives the folder. */
enum cw_status cw_outing_read_memory(const char *bytes, size_t length, const char *path,
                                     struct cw_outing *outing, struct cw_error *error);

CW_PUBLIC_END

#endif
