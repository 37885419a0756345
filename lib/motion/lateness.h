/* How late a device's own speed or distance is against its positions. A device that makes its speed
 * from positions averages them over seconds and shows it seconds later; a wheel's turns are counted
 * at once. */
#ifndef CW_MOTION_LATENESS_H
#define CW_MOTION_LATENESS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "recording/samples.h"

/* *late_s: by how many seconds (whole ones, of -2 to 6) the way way_m, of as many numbers as
 * there are samples, rising, NaN where it is not known, must be moved back to fit best the
 * distances between positions 4 s apart; NaN where it cannot be told: few positions, or a speed
 * that never changes. new_way[i]: the count starts anew at sample i. */
enum cw_status cw_lateness(const struct cw_samples *samples, const double *way_m,
                           const bool *new_way, double *late_s, struct cw_error *error);

#endif
