#include "compare/split.h"

#include <math.h>

const char *cw_part_text(enum cw_part part) {
    static const char *const texts[CW_PARTS] = {"mass",        "drag", "rolling",    "air density",
                                                "start speed", "wind", "unexplained"};
    return texts[part];
}

struct cw_split cw_split_unknown(void) {
    const struct cw_estimate none = {NAN, NAN, NAN, NAN, 0};
    struct cw_split split = {.measured = none};
    for (int c = 0; c < CW_PARTS; c++) split.part[c] = none;
    return split;
}

double cw_split_explained(const struct cw_split *split) {
    double sum = 0;
    for (int c = 0; c < CW_MODEL_PARTS; c++)
        if (isfinite(split->part[c].value)) sum += split->part[c].value;
    return sum;
}
