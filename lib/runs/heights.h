/* The heights of recordings as they would be in time.
 *
 * An altimeter's heights are smoothed over seconds, and so late. Late heights gain energy where a
 * coast gets faster and lose it where it is braked. Passes over the same ground tell how late they
 * are: a place has one height, but who is fast, or stops there, has that of another place. */
#ifndef CW_RUNS_HEIGHTS_H
#define CW_RUNS_HEIGHTS_H

#include "base/error.h"
#include "motion/motion.h"
#include "recording/recording.h"
#include "runs/passes.h"

/* *late_s: by how many seconds, up to 6, the heights of these recordings come late: by
 * so much passes agree best. 0 where it is not told. height_m: a column for each recording that has
 * a motion, of as many numbers as it has samples; written to. */
enum cw_status cw_heights_late(const struct cw_recording *recordings,
                               const struct cw_motion *motions, const struct cw_passes *passes,
                               double *const *height_m, double *late_s, struct cw_error *error);

/* Fills height_m[n] with the motion's heights of late_s later than each sample, straight between
 * samples; near the end of a part its last one. NaN where they are NaN. */
void cw_heights_in_time(const double *time_s, const struct cw_motion *motion, double late_s,
                        double *height_m);

#endif
