/* Where a motion's speed comes from. */
#ifndef CW_MOTION_SPEED_H
#define CW_MOTION_SPEED_H

#include "base/public.h"

CW_PUBLIC_BEGIN

/* No run reaches across a longer time without a sample of the speed source. */
#define CW_GAP_S 10.0

enum cw_speed_source { CW_SPEED_DEVICE, CW_SPEED_DISTANCE, CW_SPEED_POSITION };

CW_PUBLIC_END

#endif
