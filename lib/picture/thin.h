/* Lines with no more points than can be seen, and cut where they leave the picture. */
#ifndef CW_PICTURE_THIN_H
#define CW_PICTURE_THIN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Points that a line keeps at most. */
#define CW_THIN_MOST 400

/* Marks which of n points of a line are kept: the ends, the lowest and highest of both x and y,
 * and as many as keep the line within `tolerance` of where it was (Ramer 1972, Comput. Graph.
 * Image Process. 1:244; Douglas & Peucker 1973, Cartographica 10:112), or within more where that
 * would be over CW_THIN_MOST. A NaN point is kept as the break in the line that it is (breaks
 * and the ends beside them are over and above the limit). *kept: how many. CW_E_MEMORY. */
enum cw_status cw_thin(size_t n, const double *x, const double *y, double tolerance, bool *keep,
                       size_t *kept, struct cw_error *error);

struct cw_box {
    double left, top, right, bottom; /* left < right, top < bottom */
};

/* Cuts the segment from a to b to the box (Liang & Barsky 1984, ACM Trans. Graph. 3:1); false when
 * nothing of it is inside, or an end is NaN. */
bool cw_clip(const struct cw_box *box, double a[2], double b[2]);

#endif
