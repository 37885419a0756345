#include "recording/recording.h"

#include <stdlib.h>

void cw_recording_free(struct cw_recording *recording) {
    free(recording->file);
    cw_samples_free(&recording->samples);
    *recording = (struct cw_recording){0};
}
