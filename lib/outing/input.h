/* A file as a command is given it: an outing file or a recording, told apart by content. */
#ifndef CW_OUTING_INPUT_H
#define CW_OUTING_INPUT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "outing/outing.h"
#include "recording/recording.h"

CW_PUBLIC_BEGIN

struct cw_input {
    bool is_outing; /* which of the two is set */
    struct cw_outing outing;
    struct cw_recording recording;
};

/* Reads path ("-": standard input), plain or gzip, once and from beginning to end: a pipe will do.
 * It is an outing file when its first character that is not blank is "[", ";" or "#". Errors as
 * cw_outing_read and cw_recording_read have them. Free with cw_input_free, also after an error. */
enum cw_status cw_input_read(const char *path, struct cw_input *input, struct cw_error *error);
void cw_input_free(struct cw_input *input);

CW_PUBLIC_END

#endif
