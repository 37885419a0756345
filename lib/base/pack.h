/* Values into bytes and back, by one description of both: a function that packs a struct, value
 * after value, also unpacks it, so that the two cannot come apart. Numbers keep every digit,
 * whatever machine reads them. */
#ifndef CW_BASE_PACK_H
#define CW_BASE_PACK_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"

enum cw_pack_fault { CW_PACK_FINE, CW_PACK_NO_MEMORY, CW_PACK_WRONG };

/* All zero packs into bytes; cw_pack_open unpacks. After a fault values come out as 0, arrays as
 * NULL with none in them, and the first fault stays. Free with cw_pack_free. */
struct cw_pack {
    bool reads;
    struct cw_text bytes;
    size_t at; /* how far it was read */
    enum cw_pack_fault fault;
};
void cw_pack_free(struct cw_pack *pack);

void cw_pack_number(struct cw_pack *pack, double *value);
void cw_pack_long(struct cw_pack *pack, long *value);
void cw_pack_flag(struct cw_pack *pack, bool *value);
/* Below `below`; what is not is CW_PACK_WRONG. */
void cw_pack_size(struct cw_pack *pack, size_t *value, size_t below);
/* The same, or SIZE_MAX: none. */
void cw_pack_index(struct cw_pack *pack, size_t *value, size_t below);
/* Of an enumeration from 0, below `below`. */
#define CW_PACK_CHOICE(pack, value, below)                                                         \
    ((value) = cw_pack_choice(pack, (unsigned)(value), (unsigned)(below)))
unsigned cw_pack_choice(struct cw_pack *pack, unsigned value, unsigned below);
/* A string that is owned, or NULL; and one that is kept in place, of size bytes with its end. */
void cw_pack_text(struct cw_pack *pack, char **text);
void cw_pack_chars(struct cw_pack *pack, char *text, size_t size);

/* How many there are of something, each of which takes a byte at least: unpacked, no more than the
 * bytes left could hold. */
void cw_pack_count(struct cw_pack *pack, size_t *n);
/* Unpacking, sets array to room for n, all zero, and for one where n is 0; and n to 0 where there
 * is no memory. Its items are packed by the caller. */
#define CW_PACK_ROOM(pack, array, n)                                                               \
    ((pack)->reads ? (void)((array) = cw_pack_room(pack, &(n), sizeof *(array))) : (void)0)
void *cw_pack_room(struct cw_pack *pack, size_t *n, size_t size);
/* n numbers; the array is allocated likewise. */
void cw_pack_numbers(struct cw_pack *pack, double **array, size_t n);
/* n x n of them into room that is there; the half of one that is the same on both sides. */
void cw_pack_matrix(struct cw_pack *pack, double *matrix, size_t n);
/* Bytes that are still to be unpacked. */
size_t cw_pack_left(const struct cw_pack *pack);
/* Unpacking, says that a value cannot be. */
void cw_pack_refuse(struct cw_pack *pack);

/* What was packed as a word of a text: its checksum and its bytes in base 64, of letters, digits,
 * "-" and "_" (RFC 4648, section 5) with a "." between. */
void cw_pack_add(const struct cw_pack *pack, struct cw_text *text);
/* Such a word, to be unpacked. False where it is damaged or memory runs out (pack->fault). */
bool cw_pack_open(struct cw_pack *pack, const char *word, size_t length);
/* All of it was unpacked, and nothing was wrong. */
bool cw_pack_ends(const struct cw_pack *pack);

#endif
