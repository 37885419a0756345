/* Any encoding to ASCII. All that is read from a recording is ASCII, and what is not (names,
 * descriptions) is dropped. So a byte or character outside ASCII becomes '_', which is a letter to
 * XML: a wrong byte in a name, an unknown encoding or a declaration that lies cannot spoil the
 * track. Blank space and a byte order mark before the first tag are taken away. */
#ifndef CW_RECORDING_ASCII_H
#define CW_RECORDING_ASCII_H

#include <stdbool.h>
#include <stddef.h>

/* Longest tag let through, in bytes: what the parser holds and compares grows with it. */
#define CW_ASCII_TAG_MAX 65536

struct cw_ascii {
    enum { CW_ENCODING_UNKNOWN, CW_ENCODING_BYTES, CW_ENCODING_UTF16LE, CW_ENCODING_UTF16BE } from;
    bool begun;         /* the first tag was seen */
    bool not_xml;       /* something else stands where it should be */
    bool tag_too_long;  /* nothing was let through from there on */
    long lines_skipped; /* of blank space before the first tag */
    /* between chunks */
    bool half;          /* a UTF-16 character is half read: */
    unsigned char held; /* this half */
    enum { CW_IN_TEXT, CW_AT_TAG, CW_IN_TAG, CW_IN_OTHER } place;
    char quote; /* the open quote within a tag, or 0 */
    size_t tag_length;
};

/* Turns bytes[0..length) to ASCII in place; returns the new length. The first chunk must be at
 * least two bytes long, or the whole. Start with a struct of zeros. */
size_t cw_ascii_feed(struct cw_ascii *ascii, char *bytes, size_t length);

#endif
