#include "outing/input.h"

#include <string.h>

#include "outing/read_source.h"
#include "recording/read_source.h"

static bool looks_like_outing(const char *head, size_t length) {
    size_t at = length >= 3 && !memcmp(head, "\xef\xbb\xbf", 3) ? 3 : 0;
    while (at < length && strchr(" \t\r\n", head[at]) && head[at]) at++;
    return at < length && (head[at] == '[' || head[at] == ';' || head[at] == '#');
}

enum cw_status cw_input_read_source(struct cw_source *source, struct cw_input *input,
                                    struct cw_error *error) {
    const char *head;
    size_t length;
    *input = (struct cw_input){0};
    enum cw_status status = cw_source_peek(source, &head, &length, error);
    if (status) return status;
    input->is_outing = looks_like_outing(head, length);
    return input->is_outing ? cw_outing_read_source(source, &input->outing, error)
                            : cw_recording_read_source(source, &input->recording, error);
}

enum cw_status cw_input_read(const char *path, struct cw_input *input, struct cw_error *error) {
    struct cw_source *source = NULL;
    *input = (struct cw_input){0};
    enum cw_status status = cw_source_open(path, &source, error);
    if (!status) status = cw_input_read_source(source, input, error);
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
