/* Reading an outing file from a source that is open already. Inside the room only. */
#ifndef CW_OUTING_READ_SOURCE_H
#define CW_OUTING_READ_SOURCE_H

#include "base/error.h"
#include "outing/outing.h"
#include "recording/source.h"

/* As cw_outing_read; the source stays open. */
enum cw_status cw_outing_read_source(struct cw_source *source, struct cw_outing *outing,
                                     struct cw_error *error);

#endif
