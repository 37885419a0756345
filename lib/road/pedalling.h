/* What the cadence and power columns say about pedalling, sample by sample. */
#ifndef CW_ROAD_PEDALLING_H
#define CW_ROAD_PEDALLING_H

#include "recording/recording.h"

enum cw_pedalling { CW_PEDALLING_UNKNOWN, CW_PEDALLING_NO, CW_PEDALLING_YES };

/* Fills pedalling[samples.n]. Power decides where there is a value: above 5 W is pedalling; at 0 W
 * a cadence above zero is pedalling too unless it stands still (a sensor that holds its last
 * value). Else cadence decides. A sensor that falls silent after saying 0 is believed for 5 s more.
 * Zeros are believed only of a column whose values above zero come in unbroken stretches: where
 * half of them stand in stretches shorter than 4 s, the zeros between are dropouts and mean
 * nothing (common practice, no source). */
void cw_pedalling_tell(const struct cw_recording *recording, enum cw_pedalling *pedalling);

#endif
