/* Files that are of no format. */
#ifndef CW_RECORDING_UNKNOWN_H
#define CW_RECORDING_UNKNOWN_H

#include "base/error.h"
#include "recording/points.h"
#include "recording/source.h"

/* Refuses a source that no format takes for its own: CW_E_FORMAT, saying what it is and what to do
 * about it. CW_OK where it breaks off before that can be told, which is a warning then; CW_E_READ,
 * CW_E_MEMORY. */
enum cw_status cw_unknown_refuse(struct cw_source *source, struct cw_points *points,
                                 struct cw_error *error);

#endif
