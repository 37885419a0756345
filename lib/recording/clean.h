/* Takes out of a recording what no ride can contain: disorder in time, jumps, counters that
 * restart or freeze, sensors that were never there. */
#ifndef CW_RECORDING_CLEAN_H
#define CW_RECORDING_CLEAN_H

#include "base/error.h"
#include "recording/recording.h"

/* Sorts samples by time, drops lone spikes of the clock and joins points of the same time.
 * CW_E_FORMAT if the whole recording runs backwards; CW_E_MEMORY. */
enum cw_status cw_clean_order(struct cw_recording *recording, struct cw_error *error);

/* Drops positions that lie where nobody can have got from both neighbours. After ordering. */
void cw_clean_positions(struct cw_recording *recording);

/* Makes the distance column never fall (see cw_recording_read). After ordering. */
void cw_clean_distance(struct cw_recording *recording);

/* Makes columns of sensors that are not there missing, and sets the has_ flags. */
void cw_clean_columns(struct cw_recording *recording);

#endif
