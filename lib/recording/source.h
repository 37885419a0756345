/* Bytes of a recording, wherever they are: a file, standard input or memory, plain or gzip. */
#ifndef CW_RECORDING_SOURCE_H
#define CW_RECORDING_SOURCE_H

#include <stddef.h>

#include "base/error.h"

struct cw_source;

/* What was wrong with the gzip around the bytes; they are good as far as they were read. */
enum cw_source_fault {
    CW_SOURCE_WHOLE,
    CW_SOURCE_CUT,      /* it ends before the end that it announces */
    CW_SOURCE_DAMAGED,  /* it cannot be inflated further, or its checksum is wrong */
    CW_SOURCE_TRAILING, /* bytes after it that are no gzip */
};

/* What is read at most, unpacked, where nobody says otherwise: a year of seconds. */
#define CW_SOURCE_LIMIT_MB 2048

/* Opens path ("-": standard input); nothing is read yet. CW_E_READ if it cannot be opened.
 * Close with cw_source_close. path must live as long as the source. */
enum cw_status cw_source_open(const char *path, struct cw_source **source, struct cw_error *error);

/* The same over bytes[0..length), which must live as long as the source; so must name, which
 * stands for the file in messages. */
enum cw_status cw_source_open_memory(const void *bytes, size_t length, const char *name,
                                     struct cw_source **source, struct cw_error *error);

/* Sets another bound, in megabytes of 1e6 bytes; 0 stands for CW_SOURCE_LIMIT_MB. Before reading.
 */
void cw_source_limit(struct cw_source *source, double limit_mb);

/* How far cw_source_peek looks. */
#define CW_SOURCE_PEEK_MAX 65536

/* Looks at the beginning of what cw_source_read is going to give, which stays to be read, so that
 * what can be read only once (a pipe) is told by its content: (*head)[0..*length), shorter than
 * CW_SOURCE_PEEK_MAX only where that is all. The bytes are the source's. To be called before the
 * first cw_source_read, as often as wanted. CW_E_READ. */
enum cw_status cw_source_peek(struct cw_source *source, const char **head, size_t *length,
                              struct cw_error *error);

/* Fills buffer[0..size), inflated where the bytes begin as gzip does (1F 8B); *length falls
 * short of size only at the end. CW_E_READ if the system cannot read; CW_E_FORMAT where there is
 * more than the bound, or it grows in unpacking as no recording does. Never holds more than a fixed
 * buffer, whatever the length of the file. */
enum cw_status cw_source_read(struct cw_source *source, char *buffer, size_t size, size_t *length,
                              struct cw_error *error);

/* Known once the end was reached. */
enum cw_source_fault cw_source_fault(const struct cw_source *source);

const char *cw_source_name(const struct cw_source *source);

/* NULL is allowed. */
void cw_source_close(struct cw_source *source);

#endif
