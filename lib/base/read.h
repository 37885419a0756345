/* A small file whole into memory. */
#ifndef CW_BASE_READ_H
#define CW_BASE_READ_H

#include <stddef.h>

#include "base/error.h"
#include "base/text.h"

/* Adds at most `most` bytes of path ("-" is standard input) to bytes; the rest is left unread, so
 * that a caller who asks for one byte more than it takes can tell that there is too much.
 * CW_E_READ with the path and the system's reason, CW_E_MEMORY. Free bytes with cw_text_free. */
enum cw_status cw_file_read(const char *path, size_t most, struct cw_text *bytes,
                            struct cw_error *error);

#endif
