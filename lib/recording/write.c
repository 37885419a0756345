#include "recording/write.h"

#include <stdlib.h>
#include <zlib.h>

#include "base/write.h"
#include "recording/format_type.h"

bool cw_recording_needs_position(enum cw_format format) {
    return cw_format_type(format)->needs_position;
}

bool cw_recording_holds_temperature(enum cw_format format) {
    return cw_format_type(format)->holds_temperature;
}

enum cw_status cw_recording_add_text(const struct cw_samples *samples, enum cw_format format,
                                     const char *name, struct cw_text *text,
                                     struct cw_error *error) {
    size_t written = cw_format_type(format)->write(samples, name, text);
    if (text->failed) return cw_error_memory(error);
    if (!written)
        return cw_error_set(error, CW_E_DATA, NULL, 0, "there are no track points to write");
    return CW_OK;
}

static enum cw_status write_gzip(const char *path, const struct cw_text *text,
                                 struct cw_error *error) {
    /* 16 added to the window bits asks for a gzip header; its time stamp stays 0. */
    z_stream stream = {0};
    if (deflateInit2(&stream, Z_BEST_COMPRESSION, Z_DEFLATED, MAX_WBITS + 16, 9,
                     Z_DEFAULT_STRATEGY) != Z_OK)
        return cw_error_memory(error);
    enum cw_status status = CW_OK;
    unsigned char *packed = NULL;
    if (text->length > 0xffffffffu) {
        status = cw_error_set(error, CW_E_WRITE, path, 0, "is larger than 4 GB");
        goto cleanup;
    }
    uLong room = deflateBound(&stream, (uLong)text->length);
    packed = malloc(room);
    if (!packed) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    stream.next_in = (Bytef *)text->bytes;
    stream.avail_in = (uInt)text->length;
    stream.next_out = packed;
    stream.avail_out = (uInt)room;
    if (deflate(&stream, Z_FINISH) != Z_STREAM_END) {
        status = cw_error_set(error, CW_E_WRITE, path, 0, "cannot be compressed");
        goto cleanup;
    }
    status = cw_file_write(path, packed, stream.total_out, error);
cleanup:
    deflateEnd(&stream);
    free(packed);
    return status;
}

enum cw_status cw_recording_write(const char *path, const struct cw_samples *samples,
                                  enum cw_format format, bool gzip, const char *name,
                                  struct cw_error *error) {
    struct cw_text text = {0};
    enum cw_status status = cw_recording_add_text(samples, format, name, &text, error);
    if (!status)
        status = gzip ? write_gzip(path, &text, error)
                      : cw_file_write(path, text.bytes, text.length, error);
    cw_text_free(&text);
    return status;
}
