#include "outing/input.h"

#include <string.h>

#include "base/text.h"
#include "recording/source.h"

/* Adds what source holds to bytes, at most `most` of it. */
static enum cw_status gather(struct cw_source *source, size_t most, struct cw_text *bytes,
                             struct cw_error *error) {
    char block[16384];
    size_t got = 1;
    while (most && got) {
        size_t size = most < sizeof block ? most : sizeof block;
        enum cw_status status = cw_source_read(source, block, size, &got, error);
        if (status != CW_OK) return status;
        cw_text_add_bytes(bytes, block, got);
        most -= got;
    }
    return bytes->failed ? cw_error_memory(error) : CW_OK;
}

static enum cw_status read_outing(struct cw_source *source, const char *path, struct cw_text *bytes,
                                  struct cw_outing *outing, struct cw_error *error) {
    size_t most = CW_OUTING_BYTES_MAX + 1 - bytes->length;
    enum cw_status status = gather(source, most, bytes, error);
    if (status != CW_OK) return status;
    if (bytes->length <= CW_OUTING_BYTES_MAX && cw_source_fault(source) != CW_SOURCE_WHOLE)
        return cw_error_set(error, CW_E_FORMAT, path, 0,
                            "the gzip is cut short or damaged: copy the file again");
    return cw_outing_read_memory(bytes->bytes ? bytes->bytes : "", bytes->length, path, outing,
                                 error);
}

enum cw_status cw_outing_read(const char *path, struct cw_outing *outing, struct cw_error *error) {
    struct cw_source *source = NULL;
    struct cw_text bytes = {0};
    *outing = (struct cw_outing){0};
    enum cw_status status = cw_source_open(path, &source, error);
    if (status == CW_OK) status = read_outing(source, path, &bytes, outing, error);
    cw_source_close(source);
    cw_text_free(&bytes);
    return status;
}

static bool looks_like_outing(const struct cw_text *bytes) {
    const char *at = bytes->bytes ? bytes->bytes : "";
    if (!strncmp(at, "\xef\xbb\xbf", 3)) at += 3;
    at += strspn(at, " \t\r\n");
    return *at && strchr("[;#", *at);
}

enum cw_status cw_input_read(const char *path, struct cw_input *input, struct cw_error *error) {
    struct cw_source *source = NULL;
    struct cw_text bytes = {0};
    bool from_stream = !strcmp(path, "-");
    *input = (struct cw_input){0};
    enum cw_status status = cw_source_open(path, &source, error);
    if (status == CW_OK) status = gather(source, 4096, &bytes, error);
    if (status != CW_OK) goto cleanup;
    if (looks_like_outing(&bytes)) {
        input->is_outing = true;
        status = read_outing(source, path, &bytes, &input->outing, error);
        goto cleanup;
    }
    if (!from_stream) {
        status = cw_recording_read(path, &input->recording, error);
        goto cleanup;
    }
    /* A stream cannot be begun again, so it is held. */
    status = gather(source, CW_INPUT_BYTES_MAX + 1 - bytes.length, &bytes, error);
    if (status != CW_OK) goto cleanup;
    if (bytes.length > CW_INPUT_BYTES_MAX) {
        status = cw_error_set(error, CW_E_FORMAT, path, 0,
                              "is larger than 256 MiB: give the recording as a file");
        goto cleanup;
    }
    status = cw_recording_read_memory(bytes.bytes ? bytes.bytes : "", bytes.length, path,
                                      &input->recording, error);
cleanup:
    cw_source_close(source);
    cw_text_free(&bytes);
    return status;
}

void cw_input_free(struct cw_input *input) {
    if (input->is_outing)
        cw_outing_free(&input->outing);
    else
        cw_recording_free(&input->recording);
    *input = (struct cw_input){0};
}
