/* Where labels stand, so that none lies on another, and how much text fits. */
#ifndef CW_PICTURE_LABELS_H
#define CW_PICTURE_LABELS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "picture/thin.h"

/* Width of text at a font size, on the safe side for any font that a screen is likely to have. */
double cw_label_width(const char *text, double font);

/* Adds as much of a name as fits into width, an ellipsis for the rest. What XML cannot hold, and
 * control characters, are dropped, other white space is a blank; NULL adds nothing. Not escaped.
 * width may be INFINITY. */
void cw_label_shorten(struct cw_text *text, const char *name, double width, double font);

/* Moves n labels of one height, wanted at these middles, as little as can be (sum of squares) so
 * that they stand apart and within low..high. Where that has no room for all, those at the end of
 * the list are left out: their place is NaN. */
enum cw_status cw_labels_stack(size_t n, const double *wanted, double height, double low,
                               double high, double *place, struct cw_error *error);

/* Boxes taken. */
#define CW_LABELS_MOST 400
struct cw_labels {
    struct cw_box within;
    size_t n;
    struct cw_box taken[CW_LABELS_MOST];
};
/* Takes a box as it is. */
void cw_labels_take(struct cw_labels *labels, const struct cw_box *box);
/* A free box of that size near a point, `gap` away from it: right, left, above, below, the corners,
 * then farther off. False when there is none. */
bool cw_labels_place(struct cw_labels *labels, double x, double y, double width, double height,
                     double gap, struct cw_box *box);

#endif
