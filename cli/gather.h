/* Which files the arguments of a command mean: files as they are, folders as the recordings in
 * them. */
#ifndef CW_CLI_GATHER_H
#define CW_CLI_GATHER_H

#include <stdbool.h>
#include <stddef.h>

#include "command.h"

/* Owns its paths. */
struct cw_gathered {
    size_t n;
    char **paths;
};

/* The arguments in their order; in the place of a folder its files that are named .gpx or .tcx,
 * with or without .gz, and where recursive those of the folders below it (links to folders are not
 * followed, and names that begin with a dot are passed over), sorted by name. CW_EXIT_ANSWERED; or,
 * said, CW_EXIT_INPUT for a folder that cannot be read or holds no recording. Free it either way.
 */
enum cw_exit cw_gather(int argc, char *const *argv, bool recursive, struct cw_gathered *gathered);
void cw_gathered_free(struct cw_gathered *gathered);

#endif
