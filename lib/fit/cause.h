/* What may be off by the same amount in every run of an outing. */
#ifndef CW_FIT_CAUSE_H
#define CW_FIT_CAUSE_H

#include "base/public.h"

CW_PUBLIC_BEGIN

enum cw_cause_kind {
    CW_CAUSE_MASS,
    CW_CAUSE_LOAD,
    CW_CAUSE_TEMPERATURE,
    CW_CAUSE_PRESSURE,
    CW_CAUSE_HUMIDITY,
    CW_CAUSE_LAPSE, /* where the road drops far enough */
    CW_CAUSE_WIND,
    CW_CAUSE_HEIGHT_SCALE,
    CW_CAUSE_INERTIA,
    CW_CAUSE_YAW,     /* where an air log has the crosswind */
    CW_CAUSE_OWN_AIR, /* of each recording, by itself */
    CW_CAUSE_WARM,    /* how tyres roll that are warmer */
    CW_CAUSE_BENDS,   /* where the road bends, and tyres drag as much at any speed */
    CW_CAUSES         /* how many */
};

CW_PUBLIC_END

#endif
