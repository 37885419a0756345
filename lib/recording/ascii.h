/* Any encoding to ASCII. All that is read from a recording is ASCII, and what is not (names,
 * descriptions) is dropped. So a byte or character outside ASCII becomes '_', which is a letter to
 * XML: a wrong byte in a name, an unknown encoding or a declaration that lies cannot spoil the
 * track. A byte order mark before the first tag is taken away. */
#ifndef CW_RECORDING_ASCII_H
#define CW_RECORDING_ASCII_H

#include <stdbool.h>
#include <stddef.h>

struct cw_ascii {
    enum { CW_ENCODING_UNKNOWN, CW_ENCODING_BYTES, CW_ENCODING_UTF16LE, CW_ENCODING_UTF16BE } from;
    bool begun;   /* the first tag was seen */
    bool not_xml; /* something else than blank space stands where it should be */
    /* between chunks */
    bool half;          /* a UTF-16 character is half read: */
    unsigned char held; /* this half */
};

/* Turns bytes[0..length) to ASCII in place; returns the new length. The first chunk must be at
 * least two bytes long, or the whole. Start with a struct of zeros. */
size_t cw_ascii_feed(struct cw_ascii *ascii, char *bytes, size_t length);

#endif
