/* A measured difference between two setups, divided among its causes (explain/explain.h). */
#ifndef CW_COMPARE_SPLIT_H
#define CW_COMPARE_SPLIT_H

#include <stdbool.h>

#include "base/estimate.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

/* In the order that people read them. */
enum cw_part {
    CW_PART_MASS,    /* a load's, or a rider's */
    CW_PART_DRAG,    /* CdA */
    CW_PART_ROLLING, /* Crr: of other tyres, or of the same at another temperature */
    CW_PART_DENSITY, /* of the air */
    CW_PART_START,   /* the speed at the first gate */
    CW_PART_WIND,    /* as far as known */
    CW_PART_LEFT,    /* what all that leaves unexplained */
    CW_PARTS,
    CW_MODEL_PARTS = CW_PART_LEFT /* the model's own */
};
/* "mass", "drag", "rolling", "air density", "start speed", "wind", "unexplained"; constants. */
const char *cw_part_text(enum cw_part part);

struct cw_split {
    bool told; /* measured, and the model has its parts; else all is NaN */
    /* Setup - reference. Its error is NaN where the runs are too few to judge it. */
    struct cw_estimate measured;
    /* They add up to measured. A wind that nobody saw is NaN, and counts 0. */
    struct cw_estimate part[CW_PARTS];
};
struct cw_split cw_split_unknown(void);
/* The sum of the parts but what is left: what the model makes of it. */
double cw_split_explained(const struct cw_split *split);

CW_PUBLIC_END

#endif
