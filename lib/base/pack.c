#include "base/pack.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <nettle/base64.h>

#include "base/checksum.h"

void cw_pack_free(struct cw_pack *pack) {
    cw_text_free(&pack->bytes);
    *pack = (struct cw_pack){0};
}

static void fail(struct cw_pack *pack, enum cw_pack_fault fault) {
    if (!pack->fault) pack->fault = fault;
}

void cw_pack_refuse(struct cw_pack *pack) {
    if (pack->reads) fail(pack, CW_PACK_WRONG);
}

size_t cw_pack_left(const struct cw_pack *pack) {
    return pack->bytes.length - pack->at;
}

/* size bytes to or from value; all 0 where there are none. */
static void raw(struct cw_pack *pack, void *value, size_t size) {
    if (!pack->reads) {
        cw_text_add_bytes(&pack->bytes, value, size);
        if (pack->bytes.failed) fail(pack, CW_PACK_NO_MEMORY);
        return;
    }
    if (!pack->fault && size > cw_pack_left(pack)) fail(pack, CW_PACK_WRONG);
    if (pack->fault) {
        memset(value, 0, size);
        return;
    }
    memcpy(value, pack->bytes.bytes + pack->at, size);
    pack->at += size;
}

/* Seven bits a byte, the lowest first; the eighth says that more follow. */
static void pack_whole(struct cw_pack *pack, uint64_t *value) {
    uint64_t left = *value, read = 0;
    unsigned char byte;
    for (int shift = 0; shift < 64; shift += 7) {
        byte = (unsigned char)((left & 0x7f) | (left > 0x7f ? 0x80 : 0));
        raw(pack, &byte, 1);
        read |= (uint64_t)(byte & 0x7f) << shift;
        left >>= 7;
        if (!(byte & 0x80)) break;
    }
    if (pack->reads) *value = read;
}

/* The lowest byte first. */
void cw_pack_number(struct cw_pack *pack, double *value) {
    unsigned char bytes[8];
    uint64_t bits;
    memcpy(&bits, value, sizeof bits);
    for (int i = 0; i < 8; i++) bytes[i] = (unsigned char)(bits >> (8 * i));
    raw(pack, bytes, sizeof bytes);
    if (!pack->reads) return;
    bits = 0;
    for (int i = 0; i < 8; i++) bits |= (uint64_t)bytes[i] << (8 * i);
    memcpy(value, &bits, sizeof bits);
}

void cw_pack_long(struct cw_pack *pack, long *value) {
    long written = pack->reads ? 0 : *value; /* what is to be read into has no value yet */
    bool below = written < 0;
    uint64_t whole = below ? 0 - (uint64_t)written : (uint64_t)written;
    cw_pack_flag(pack, &below);
    pack_whole(pack, &whole);
    if (!pack->reads) return;
    if (whole > INT32_MAX) fail(pack, CW_PACK_WRONG);
    *value = pack->fault ? 0 : below ? -(long)whole : (long)whole;
}

void cw_pack_flag(struct cw_pack *pack, bool *value) {
    unsigned char byte = pack->reads ? 0 : *value;
    raw(pack, &byte, 1);
    if (pack->reads && byte > 1) fail(pack, CW_PACK_WRONG);
    *value = byte == 1;
}

void cw_pack_size(struct cw_pack *pack, size_t *value, size_t below) {
    uint64_t whole = pack->reads ? 0 : *value;
    pack_whole(pack, &whole);
    if (!pack->reads) return;
    if (whole >= below) fail(pack, CW_PACK_WRONG);
    *value = pack->fault ? 0 : (size_t)whole;
}

unsigned cw_pack_choice(struct cw_pack *pack, unsigned value, unsigned below) {
    size_t choice = value;
    cw_pack_size(pack, &choice, below);
    return (unsigned)choice;
}

void cw_pack_index(struct cw_pack *pack, size_t *value, size_t below) {
    bool any = !pack->reads && *value != SIZE_MAX;
    cw_pack_flag(pack, &any);
    if (any)
        cw_pack_size(pack, value, below);
    else
        *value = SIZE_MAX;
}

void cw_pack_count(struct cw_pack *pack, size_t *n) {
    cw_pack_size(pack, n, pack->reads ? cw_pack_left(pack) + 1 : SIZE_MAX);
}

void *cw_pack_room(struct cw_pack *pack, size_t *n, size_t size) {
    void *room = pack->fault ? NULL : calloc(*n + 1, size);
    if (!room) {
        fail(pack, CW_PACK_NO_MEMORY);
        *n = 0;
    }
    return room;
}

void cw_pack_text(struct cw_pack *pack, char **text) {
    bool any = *text != NULL;
    size_t length = !pack->reads && any ? strlen(*text) : 0;
    cw_pack_flag(pack, &any);
    if (pack->reads) *text = NULL;
    if (!any || pack->fault) return;
    cw_pack_count(pack, &length);
    CW_PACK_ROOM(pack, *text, length);
    if (*text) raw(pack, *text, length);
}

void cw_pack_chars(struct cw_pack *pack, char *text, size_t size) {
    size_t length = pack->reads ? 0 : strlen(text);
    cw_pack_size(pack, &length, size);
    raw(pack, text, length);
    text[length] = '\0';
}

void cw_pack_numbers(struct cw_pack *pack, double **array, size_t n) {
    CW_PACK_ROOM(pack, *array, n);
    for (size_t i = 0; *array && i < n; i++) cw_pack_number(pack, &(*array)[i]);
}

static bool is_symmetric(const double *matrix, size_t n) {
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < i; j++)
            if (memcmp(&matrix[i * n + j], &matrix[j * n + i], sizeof *matrix)) return false;
    return true;
}

void cw_pack_matrix(struct cw_pack *pack, double *matrix, size_t n) {
    bool half = !pack->reads && is_symmetric(matrix, n);
    cw_pack_flag(pack, &half);
    for (size_t i = 0; i < n && !pack->fault; i++)
        for (size_t j = 0; j < (half ? i + 1 : n); j++) {
            cw_pack_number(pack, &matrix[i * n + j]);
            if (half) matrix[j * n + i] = matrix[i * n + j];
        }
}

/* Bytes that become whole groups of base 64. */
enum { AT_ONCE = 3 * 256 };

void cw_pack_add(const struct cw_pack *pack, struct cw_text *text) {
    struct base64_encode_ctx context;
    char checksum[CW_CHECKSUM_HEX],
        some[BASE64_ENCODE_LENGTH(AT_ONCE) + BASE64_ENCODE_FINAL_LENGTH];
    const struct cw_text *bytes = &pack->bytes;
    if (pack->fault || !bytes->length) {
        text->failed = true;
        return;
    }
    cw_checksum_hex(bytes->bytes, bytes->length, checksum);
    cw_text_add(text, "%s.", checksum);
    base64url_encode_init(&context);
    for (size_t at = 0; at < bytes->length; at += AT_ONCE) {
        size_t n = bytes->length - at < AT_ONCE ? bytes->length - at : AT_ONCE;
        size_t length = base64_encode_update(&context, some, n, (const uint8_t *)bytes->bytes + at);
        if (at + n == bytes->length) length += base64_encode_final(&context, some + length);
        cw_text_add_bytes(text, some, length);
    }
}

bool cw_pack_open(struct cw_pack *pack, const char *word, size_t length) {
    enum { HEAD = CW_CHECKSUM_HEX }; /* the checksum, and its point for the string's end */
    char checksum[CW_CHECKSUM_HEX];
    struct base64_decode_ctx context;
    *pack = (struct cw_pack){.reads = true};
    if (length <= HEAD || word[HEAD - 1] != '.') {
        fail(pack, CW_PACK_WRONG);
        return false;
    }
    size_t room = BASE64_DECODE_LENGTH(length - HEAD), got = room;
    struct cw_text *bytes = &pack->bytes;
    bytes->bytes = malloc(room + 1);
    if (!bytes->bytes) {
        fail(pack, CW_PACK_NO_MEMORY);
        return false;
    }
    bytes->capacity = room + 1;
    base64url_decode_init(&context);
    if (!base64_decode_update(&context, &got, (uint8_t *)bytes->bytes, length - HEAD,
                              word + HEAD) ||
        !base64_decode_final(&context)) {
        fail(pack, CW_PACK_WRONG);
        return false;
    }
    bytes->length = got;
    cw_checksum_hex(bytes->bytes, got, checksum);
    if (memcmp(checksum, word, HEAD - 1)) fail(pack, CW_PACK_WRONG);
    return !pack->fault;
}

bool cw_pack_ends(const struct cw_pack *pack) {
    return !pack->fault && pack->at == pack->bytes.length;
}
