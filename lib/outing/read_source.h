/* Reading from a source that is open already. Inside the library only. */
#ifndef CW_OUTING_READ_SOURCE_H
#define CW_OUTING_READ_SOURCE_H

#include "base/error.h"
#include "outing/air_log.h"
#include "outing/input.h"
#include "outing/outing.h"
#include "recording/source.h"

/* As cw_outing_read; the source stays open. */
enum cw_status cw_outing_read_source(struct cw_source *source, struct cw_outing *outing,
                                     struct cw_error *error);
/* As cw_input_read. */
enum cw_status cw_input_read_source(struct cw_source *source, struct cw_input *input,
                                    struct cw_error *error);
/* As cw_air_log_read. */
enum cw_status cw_air_log_read_source(struct cw_source *source, double utc_offset_s,
                                      struct cw_air_log *log, struct cw_error *error);

#endif
