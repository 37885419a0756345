/* Answers that are kept from one call to the next: a file each in a folder, named by the checksum
 * of all that the answer hangs on. */
#ifndef CW_CLI_KEPT_H
#define CW_CLI_KEPT_H

#include <stdbool.h>

#include "base/checksum.h"
#include "base/text.h"
#include "command.h"

struct cw_kept {
    const char *folder;
    struct cw_text asked; /* the version, the command and its options */
};

/* Of one input: itself, what it names, and what was asked of it; "" where it cannot be known. */
struct cw_kept_key {
    const char *path; /* borrowed */
    char hex[CW_CHECKSUM_HEX];
};

/* Makes the folder where there is none. CW_EXIT_ANSWERED, or, said, CW_EXIT_OUTPUT. Close it either
 * way. folder is borrowed. */
enum cw_exit cw_kept_open(struct cw_kept *kept, const char *folder,
                          const struct cw_command *command, const void *options);
void cw_kept_close(struct cw_kept *kept);

/* The key of a recording or an outing file as it now is, which a reader may not be able to read. */
void cw_kept_key(const struct cw_kept *kept, const char *path, struct cw_kept_key *key);

/* Adds what is kept of it to the answer and what was said beside it; false where nothing is, or
 * what is there is damaged or not of this key. */
bool cw_kept_take(const struct cw_kept *kept, const struct cw_kept_key *key, struct cw_text *answer,
                  struct cw_text *said, enum cw_exit *status);

/* Keeps an answer, whole or not at all, unless the input changed meanwhile; what is there by that
 * name is replaced where it is an entry, and else left. CW_EXIT_OUTPUT, said, where it cannot be
 * written. */
enum cw_exit cw_kept_put(const struct cw_kept *kept, const struct cw_kept_key *key,
                         const struct cw_text *answer, const struct cw_text *said,
                         enum cw_exit status);

#endif
