/* Completion for shells, made from the tables of commands and options: a file a shell says how its
 * script is written, values.c what there is to complete. */
#ifndef CW_MAN_COMPLETION_H
#define CW_MAN_COMPLETION_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"
#include "command.h"

/* What the value of an option, or a command's arguments, may be. */
struct cw_values {
    bool files;                    /* of those names' ends, in all folders */
    bool folders;                  /* and nothing in them */
    bool commands;                 /* coastwise's own */
    bool setups;                   /* those of the outing files that stand on the line */
    size_t n_ends;                 /* 0 where files: any will do */
    char ends[16][16];             /* "gpx", "tcx.gz" */
    const char *(*word)(size_t i); /* the i-th word from 0, NULL behind the last; or NULL */
};

/* Of what usage says: "RECORDING... | OUTING", "OUTING.ini", "ROAD"; a word that stands for nothing
 * that can be known, as KG, completes to nothing. */
struct cw_values cw_values_of(const char *usage);

/* What an option or a command is for, in so few words that they fit beside it: the first of its
 * meaning. Every byte of special has a backslash before it. */
void cw_completion_add_gist(struct cw_text *script, const char *meaning, const char *special);

void cw_completion_add_bash(struct cw_text *script);
void cw_completion_add_fish(struct cw_text *script);
void cw_completion_add_zsh(struct cw_text *script);

#endif
