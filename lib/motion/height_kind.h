/* Where recorded heights come from, told from what they are at places passed more than once.
 *
 * A map's heights belong to the place: each pass finds the same. A pressure sensor's and a
 * satellite receiver's belong to the time: between two passes they differ by what either drifted,
 * a sensor's by decimetres within a minute, a receiver's by metres. What one pass differs from the
 * one before is therefore looked at twice: how large it is, and how much it changes within a
 * minute. */
#ifndef CW_MOTION_HEIGHT_KIND_H
#define CW_MOTION_HEIGHT_KIND_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "motion/motion.h"
#include "outing/outing.h"
#include "recording/recording.h"

CW_PUBLIC_BEGIN

struct cw_height_kind {
    bool told;              /* false: too little was passed twice, or it is neither clearly */
    enum cw_elevation kind; /* barometric, satellite or terrain where told */
    size_t n;               /* samples at places passed before */
    double apart_m;         /* median difference from the pass before; NaN where n is 0 */
    double drift_m;         /* sd of its change within a minute, one pass's share; NaN where no pass
                             * lasted one */
};

/* Of n recordings of one kind of device; motions without samples are left out. CW_E_MEMORY only. */
enum cw_status cw_height_kind_tell(const struct cw_recording *recordings,
                                   const struct cw_motion *motions, size_t n,
                                   struct cw_height_kind *kind, struct cw_error *error);

CW_PUBLIC_END

#endif
