/* Files appear whole or not at all. */
#ifndef CW_BASE_WRITE_H
#define CW_BASE_WRITE_H

#include <stddef.h>

#include "base/error.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

/* Writes bytes[0..length) to path: into a temporary file beside it, flushed to disk, then renamed
 * over it. A symbolic link stays: the file that it leads to is written, or made where there is
 * none. A file keeps its permissions; a new one has those that the process gives its files (umask).
 * On failure the old file, if any, is untouched and the temporary one is gone. Signals that end the
 * program (hang-up, interrupt, quit, terminate) wait meanwhile in this thread. What is no file (a
 * device, a pipe) or has no name of its own (/dev/stdout, /dev/fd/3) holds nothing to keep whole
 * and is written to as it is; a folder is refused. CW_E_WRITE with the path and the system's
 * reason. */
enum cw_status cw_file_write(const char *path, const void *bytes, size_t length,
                             struct cw_error *error);
/* The same where path must not be there yet: a file that holds something, or comes to be there
 * meanwhile, is left as it is. */
enum cw_status cw_file_write_new(const char *path, const void *bytes, size_t length,
                                 struct cw_error *error);

CW_PUBLIC_END

#endif
