/* What the cadence and power columns say about pedalling, sample by sample. */
#ifndef CW_RUNS_PEDALLING_H
#define CW_RUNS_PEDALLING_H

#include "motion/motion.h"
#include "recording/recording.h"
#include "runs/balance.h"

/* In a byte, for there is one a sample. */
enum __attribute__((packed)) cw_pedalling {
    CW_PEDALLING_UNKNOWN,
    CW_PEDALLING_NO,
    CW_PEDALLING_YES
};

/* Fills pedalling[samples.n]. Power decides where there is a value: above 5 W is pedalling; at 0 W
 * a cadence above zero is pedalling too unless it stands still (a sensor that holds its last
 * value). Else cadence decides. A sensor that falls silent after saying 0 is believed for 5 s more;
 * a value above zero that stays exactly the same for over 10 s is believed no longer.
 * Zeros are believed only of a column whose values above zero come in unbroken stretches: where
 * half of them stand in stretches shorter than 4 s, the zeros between are dropouts and mean
 * nothing (common practice, no source). Where the ride gains energy during more than a tenth of
 * the time said to be unpedalled, the sensor does not see the pedals and all is unknown; and where
 * it gains over 8 m of head within one such stretch, over 20 s or more (the heights' errors and
 * their lag make less), the sensor has fallen asleep and that stretch is unknown. */
void cw_pedalling_tell(const struct cw_recording *recording, const struct cw_motion *motion,
                       const struct cw_balance *balance, enum cw_pedalling *pedalling);

#endif
