/* Statuses and the caller's error record: how every function here says what went wrong. */
#ifndef CW_BASE_ERROR_H
#define CW_BASE_ERROR_H

#include <stddef.h>

#include "base/public.h"

CW_PUBLIC_BEGIN

/* One list gives the codes and their texts. Negative: failed, results are not set.
 * Positive: answered, but doubtful. The numbers are stable: a status keeps its own, new ones get
 * new ones, and that of one no longer given is never used again. */
#define CW_STATUS_LIST(X)                                                                          \
    X(CW_OK, 0, "fine")                                                                            \
    X(CW_NOT_IDENTIFIABLE, 1, "the data cannot tell the unknowns apart")                           \
    X(CW_E_MEMORY, -1, "not enough memory")                                                        \
    X(CW_E_ARGUMENT, -2, "argument out of range")                                                  \
    X(CW_E_READ, -3, "cannot be read")                                                             \
    X(CW_E_FORMAT, -4, "content is wrong")                                                         \
    X(CW_E_DATA, -5, "the data cannot answer")                                                     \
    X(CW_E_NUMERIC, -6, "the calculation did not succeed")                                         \
    X(CW_E_WRITE, -7, "cannot be written")

enum cw_status {
#define CW_STATUS_ENUM(name, number, text) name = number,
    CW_STATUS_LIST(CW_STATUS_ENUM)
#undef CW_STATUS_ENUM
};

#define CW_ERROR_MESSAGE 512

/* Filled by the function that fails; owned by the caller, never allocated. An empty file or a
 * line of 0 means there is none to name. */
struct cw_error {
    enum cw_status code;
    long line;
    char file[512];
    char message[CW_ERROR_MESSAGE];
};

/* The general text of a status ("cannot be read"), a constant; never NULL. */
const char *cw_status_text(enum cw_status status);

/* Fills *error (which may be NULL) and returns code, so that a caller can
 * `return cw_error_set(error, CW_E_FORMAT, file, line, "...")`. file may be NULL; line 0 if none.
 */
enum cw_status cw_error_set(struct cw_error *error, enum cw_status code, const char *file,
                            long line, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

/* Shorthand for a failed allocation. */
static inline enum cw_status cw_error_memory(struct cw_error *error) {
    cw_error_set(error, CW_E_MEMORY, NULL, 0, "%s", cw_status_text(CW_E_MEMORY));
    return CW_E_MEMORY;
}

CW_PUBLIC_END

#endif
