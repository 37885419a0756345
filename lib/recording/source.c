#include "recording/source.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

#include "base/reason.h"

#define BUFFER_SIZE 65536
#define GZIP_WINDOW (15 + 16) /* the largest window, gzip wrapping */
/* A recorder that stands still all day packs to a ninetieth (made up and packed). */
#define GROWTH_MAX 250
#define GROWTH_FREE (16 << 20) /* unpacked bytes that may have grown by any factor */

struct cw_source {
    const char *name;
    FILE *file; /* NULL where the bytes are in memory */
    const unsigned char *memory;
    size_t memory_left;
    bool sniffed, gzip, inflating, ended;
    enum cw_source_fault fault;
    double limit_mb;
    double packed, unpacked; /* bytes so far; the same where nothing is packed */
    z_stream stream;         /* next_in and avail_in are the raw bytes at hand, plain or not */
    unsigned char buffer[BUFFER_SIZE];
    size_t head_length, head_at; /* of what was looked at, and how much of that has been read */
    char head[CW_SOURCE_PEEK_MAX];
};

static enum cw_status source_make(const char *name, struct cw_source **source,
                                  struct cw_error *error) {
    *source = calloc(1, sizeof **source);
    if (!*source) return cw_error_memory(error);
    (*source)->name = name;
    (*source)->limit_mb = CW_SOURCE_LIMIT_MB;
    return CW_OK;
}

void cw_source_limit(struct cw_source *source, double limit_mb) {
    source->limit_mb = limit_mb > 0 ? limit_mb : CW_SOURCE_LIMIT_MB;
}

enum cw_status cw_source_open(const char *path, struct cw_source **source, struct cw_error *error) {
    enum cw_status status = source_make(path, source, error);
    if (status) return status;
    bool standard_input = strcmp(path, "-") == 0;
    (*source)->file = standard_input ? stdin : fopen(path, "rb");
    if ((*source)->file) return CW_OK;
    status = cw_error_set(error, errno == ENOMEM ? CW_E_MEMORY : CW_E_READ, path, 0,
                          "cannot be opened: %s", cw_reason_text(errno));
    cw_source_close(*source);
    *source = NULL;
    return status;
}

enum cw_status cw_source_open_memory(const void *bytes, size_t length, const char *name,
                                     struct cw_source **source, struct cw_error *error) {
    enum cw_status status = source_make(name, source, error);
    if (status) return status;
    (*source)->memory = bytes;
    (*source)->memory_left = length;
    return CW_OK;
}

/* Brings raw bytes to hand where there are none; at the end avail_in stays 0. */
static enum cw_status refill(struct cw_source *source, struct cw_error *error) {
    if (source->stream.avail_in) return CW_OK;
    size_t length;
    if (source->file) {
        errno = 0;
        length = fread(source->buffer, 1, BUFFER_SIZE, source->file);
        if (length == 0 && ferror(source->file) && errno == EISDIR)
            return cw_error_set(
                error, CW_E_READ, source->name, 0,
                "is a folder: name the files in it (`coastwise runs` and `start` take "
                "folders too)");
        if (length == 0 && ferror(source->file))
            return cw_error_set(error, CW_E_READ, source->name, 0, "cannot be read: %s",
                                cw_reason_text(errno));
    } else {
        length = source->memory_left < BUFFER_SIZE ? source->memory_left : BUFFER_SIZE;
        if (length) memcpy(source->buffer, source->memory, length);
        source->memory += length;
        source->memory_left -= length;
    }
    source->stream.next_in = source->buffer;
    source->stream.avail_in = (uInt)length;
    source->packed += (double)length;
    return CW_OK;
}

static enum cw_status sniff(struct cw_source *source, struct cw_error *error) {
    source->sniffed = true;
    enum cw_status status = refill(source, error);
    if (status) return status;
    z_stream *stream = &source->stream;
    source->gzip =
        stream->avail_in >= 2 && stream->next_in[0] == 0x1f && stream->next_in[1] == 0x8b;
    if (source->gzip) {
        if (inflateInit2(stream, GZIP_WINDOW) != Z_OK) return cw_error_memory(error);
        source->inflating = true;
    }
    return CW_OK;
}

static void end_with(struct cw_source *source, enum cw_source_fault fault) {
    source->ended = true;
    source->fault = fault;
}

static enum cw_status read_plain(struct cw_source *source, struct cw_error *error) {
    z_stream *stream = &source->stream;
    enum cw_status status = refill(source, error);
    if (status) return status;
    uInt length = stream->avail_in < stream->avail_out ? stream->avail_in : stream->avail_out;
    if (length == 0) {
        end_with(source, CW_SOURCE_WHOLE);
        return CW_OK;
    }
    memcpy(stream->next_out, stream->next_in, length);
    stream->next_in += length;
    stream->avail_in -= length;
    stream->next_out += length;
    stream->avail_out -= length;
    return CW_OK;
}

/* After a member's end: another member, the end, or something that does not belong there. */
static enum cw_status next_member(struct cw_source *source, struct cw_error *error) {
    enum cw_status status = refill(source, error);
    if (status) return status;
    if (source->stream.avail_in == 0)
        end_with(source, CW_SOURCE_WHOLE);
    else if (source->stream.next_in[0] != 0x1f)
        end_with(source, CW_SOURCE_TRAILING);
    else
        inflateReset(&source->stream);
    return CW_OK;
}

static enum cw_status read_gzip(struct cw_source *source, struct cw_error *error) {
    enum cw_status status = refill(source, error);
    if (status) return status;
    if (source->stream.avail_in == 0) {
        end_with(source, CW_SOURCE_CUT);
        return CW_OK;
    }
    switch (inflate(&source->stream, Z_NO_FLUSH)) {
    case Z_OK:
    case Z_BUF_ERROR:
        return CW_OK;
    case Z_STREAM_END:
        return next_member(source, error);
    case Z_MEM_ERROR:
        return cw_error_memory(error);
    default:
        end_with(source, CW_SOURCE_DAMAGED);
        return CW_OK;
    }
}

static enum cw_status check_size(const struct cw_source *source, struct cw_error *error) {
    if (source->unpacked > 1e6 * source->limit_mb)
        return cw_error_set(
            error, CW_E_FORMAT, source->name, 0,
            "holds more than %.10g MB%s: no recording does; --limit-mb lets more be "
            "read",
            source->limit_mb, source->gzip ? " unpacked" : "");
    if (source->unpacked > GROWTH_FREE && source->unpacked > GROWTH_MAX * source->packed)
        return cw_error_set(error, CW_E_FORMAT, source->name, 0,
                            "unpacks to more than %d times its size: no recording does",
                            GROWTH_MAX);
    return CW_OK;
}

static enum cw_status read_on(struct cw_source *source, char *buffer, size_t size, size_t *length,
                              struct cw_error *error) {
    *length = 0;
    enum cw_status status = CW_OK;
    if (!source->sniffed && (status = sniff(source, error))) return status;
    z_stream *stream = &source->stream;
    stream->next_out = (unsigned char *)buffer;
    stream->avail_out = (uInt)size;
    while (stream->avail_out && !source->ended && !status)
        status = source->gzip ? read_gzip(source, error) : read_plain(source, error);
    *length = size - stream->avail_out;
    source->unpacked += (double)*length;
    return status ? status : check_size(source, error);
}

enum cw_status cw_source_peek(struct cw_source *source, const char **head, size_t *length,
                              struct cw_error *error) {
    enum cw_status status = CW_OK;
    if (!source->sniffed)
        status = read_on(source, source->head, sizeof source->head, &source->head_length, error);
    *head = source->head;
    *length = source->head_length;
    return status;
}

enum cw_status cw_source_read(struct cw_source *source, char *buffer, size_t size, size_t *length,
                              struct cw_error *error) {
    size_t held = source->head_length - source->head_at;
    if (held > size) held = size;
    memcpy(buffer, source->head + source->head_at, held);
    source->head_at += held;
    enum cw_status status = read_on(source, buffer + held, size - held, length, error);
    *length += held;
    return status;
}

enum cw_source_fault cw_source_fault(const struct cw_source *source) {
    return source->fault;
}

const char *cw_source_name(const struct cw_source *source) {
    return source->name;
}

void cw_source_close(struct cw_source *source) {
    if (!source) return;
    if (source->inflating) inflateEnd(&source->stream);
    if (source->file && source->file != stdin) fclose(source->file);
    free(source);
}
