/* Which files the arguments of a command mean: files as they are, folders as what is in them, lists
 * as the names that they hold; and how files are read. */
#ifndef CW_CLI_GATHER_H
#define CW_CLI_GATHER_H

#include <stdbool.h>
#include <stddef.h>

#include "command.h"

/* What is asked for by the options of CW_OPTIONS_READING; all zero: none was given. */
struct cw_files_options {
    struct cw_option_texts from; /* files, of commands that take results of others */
    const char *files_from;
    bool recursive;
    long limit_mb, threads;
};

#define CW_OPTION_READING(options, member, ...)                                                    \
    {                                                                                              \
        .offset = offsetof(options, reading) + offsetof(struct cw_files_options, member),          \
        __VA_ARGS__                                                                                \
    }

/* The rows of commands that read many files: struct cw_files_options reading of their options. */
#define CW_OPTIONS_READING(options, what)                                                          \
    CW_OPTION_READING(options, recursive, .name = "recursive", .kind = CW_OPTION_FLAG,             \
                      .meaning = "of a folder, take the " what " in the folders below it too"),    \
        CW_OPTION_READING(options, files_from, .name = "files-from", .kind = CW_OPTION_TEXT,       \
                          .argument = "FILE",                                                      \
                          .meaning = "take the names in FILE too, one a line or each ended by a "  \
                                     "NUL, as find -print0 writes them; \"-\" is standard input"), \
        CW_OPTION_READING(options, threads, .name = "threads", .kind = CW_OPTION_COUNT,            \
                          .argument = "N", .low = 1, .high = 256,                                  \
                          .meaning = "work on so many files at once (default: one for each "       \
                                     "processor); the answer is the same, whatever it is"),        \
        CW_OPTION_READING(options, limit_mb, .name = "limit-mb", .kind = CW_OPTION_COUNT,          \
                          .argument = "N", .low = 1, .high = 1e6,                                  \
                          .meaning =                                                               \
                              "an input, unpacked, may have so many megabytes (default 2048)")

/* What a folder stands for. */
enum cw_wanted_files {
    CW_WANTED_RECORDINGS, /* its files that are named .gpx or .tcx, with or without .gz */
    CW_WANTED_OUTINGS     /* those named .ini with an [outing] in them */
};

/* Owns its paths. */
struct cw_gathered {
    size_t n;
    char **paths;
    enum cw_exit left_out; /* the gravest fault of what was left out, said already */
};

/* The files that are taken from, the arguments in their order, then the names of the list; in the
 * place of a folder what is wanted in it, and where recursive in the folders below it (links to
 * folders are not followed, and names that begin with a dot are passed over), sorted by name. What
 * else is in a folder is counted, and the count said. A folder or a list that cannot be read, or
 * holds nothing wanted, is said and left out. CW_EXIT_ANSWERED; or, where nothing is left, the
 * status to leave with. Free it either way.
 */
enum cw_exit cw_gather(int argc, char *const *argv, const struct cw_files_options *reading,
                       enum cw_wanted_files wanted, struct cw_gathered *gathered);
void cw_gathered_free(struct cw_gathered *gathered);

#endif
