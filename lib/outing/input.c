#include "outing/input.h"

#include <string.h>

#include "base/text.h"
#include "recording/source.h"

static enum cw_status read_outing(struct cw_source *source, const char *path,
                                  struct cw_outing *outing, struct cw_error *error) {
    struct cw_text bytes = {0};
    enum cw_status status = CW_OK;
    char block[16384];
    size_t got = 1;
    while (!status && got && bytes.length <= CW_OUTING_BYTES_MAX) {
        status = cw_source_read(source, block, sizeof block, &got, error);
        if (!status) cw_text_add_bytes(&bytes, block, got);
    }
    if (!status && bytes.failed) status = cw_error_memory(error);
    if (!status && bytes.length <= CW_OUTING_BYTES_MAX &&
        cw_source_fault(source) != CW_SOURCE_WHOLE)
        status = cw_error_set(error, CW_E_FORMAT, path, 0,
                              "the gzip is cut short or damaged: copy the file again");
    if (!status)
        status = cw_outing_read_memory(bytes.bytes ? bytes.bytes : "", bytes.length, path, outing,
                                       error);
    cw_text_free(&bytes);
    return status;
}

enum cw_status cw_outing_read(const char *path, struct cw_outing *outing, struct cw_error *error) {
    struct cw_source *source = NULL;
    *outing = (struct cw_outing){0};
    enum cw_status status = cw_source_open(path, &source, error);
    if (!status) status = read_outing(source, path, outing, error);
    cw_source_close(source);
    return status;
}

static bool looks_like_outing(const char *head, size_t length) {
    size_t at = length >= 3 && !memcmp(head, "\xef\xbb\xbf", 3) ? 3 : 0;
    while (at < length && strchr(" \t\r\n", head[at]) && head[at]) at++;
    return at < length && (head[at] == '[' || head[at] == ';' || head[at] == '#');
}

enum cw_status cw_input_read(const char *path, struct cw_input *input, struct cw_error *error) {
    struct cw_source *source = NULL;
    const char *head;
    size_t length;
    *input = (struct cw_input){0};
    enum cw_status status = cw_source_open(path, &source, error);
    if (!status) status = cw_source_peek(source, &head, &length, error);
    if (!status) {
        input->is_outing = looks_like_outing(head, length);
        status = input->is_outing ? read_outing(source, path, &input->outing, error)
                                  : cw_recording_read_source(source, &input->recording, error);
    }
    cw_source_close(source);
    return status;
}

void cw_input_free(struct cw_input *input) {
    if (input->is_outing)
        cw_outing_free(&input->outing);
    else
        cw_recording_free(&input->recording);
    *input = (struct cw_input){0};
}
