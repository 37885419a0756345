/* The tags of an XML text and what stands between them; all else goes. Comments, processing
 * instructions and a DOCTYPE are taken out, and of a CDATA section its text is left, so that the
 * parser behind this never holds more than a tag and never sees a declaration, however long the
 * file makes them. Line ends stay where they are, for lines to be counted by. */
#ifndef CW_RECORDING_TAGS_H
#define CW_RECORDING_TAGS_H

#include <stdbool.h>
#include <stddef.h>

/* Longest tag let through, in bytes: what the parser holds and compares grows with it. */
#define CW_TAG_MAX 65536

struct cw_tags {
    const char *fault; /* what is wrong in the text; nothing was let through from there on */
    bool declares;     /* a DOCTYPE with declarations of its own; the same */
    long lines;        /* let through */
    /* between chunks */
    enum {
        CW_IN_TEXT,
        CW_AT_TAG, /* behind its '<', which is let through with what follows */
        CW_IN_TAG,
        CW_AT_SPECIAL, /* behind "<!" */
        CW_IN_COMMENT,
        CW_IN_CDATA,
        CW_IN_DOCTYPE,
        CW_IN_INSTRUCTION
    } place;
    char quote;        /* the open quote within a tag or DOCTYPE, or 0 */
    size_t tag_length; /* so far */
    size_t matched;    /* bytes of the word that begins a special, or of what ends it */
    const char *word;  /* that word */
};

/* Takes in ASCII text[0..length) and writes what is let through to `to`, which has room for
 * length + 1 bytes; returns how many it wrote. Start with a struct of zeros. */
size_t cw_tags_feed(struct cw_tags *tags, const char *text, size_t length, char *to);

#endif
