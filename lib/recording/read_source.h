/* Reading a recording from a source that is open already. Inside the library only. */
#ifndef CW_RECORDING_READ_SOURCE_H
#define CW_RECORDING_READ_SOURCE_H

#include "base/error.h"
#include "recording/recording.h"
#include "recording/source.h"

/* As cw_recording_read; the source stays open. */
enum cw_status cw_recording_read_source(struct cw_source *source, struct cw_recording *recording,
                                        struct cw_error *error);

#endif
