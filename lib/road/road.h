/* A road: the stretch that runs share, as a line on the ground with distance along it. */
#ifndef CW_ROAD_ROAD_H
#define CW_ROAD_ROAD_H

#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "motion/motion.h"
#include "recording/recording.h"
#include "runs/runs.h"

CW_PUBLIC_BEGIN

/* Owns its line. */
struct cw_road {
    struct cw_metric metric;
    size_t n;                 /* points of the line, about every 5 m */
    double *s_m;              /* along-road distance, from 0 */
    double *east_m, *north_m; /* the line: the mean of the runs' lines */
    double spread_m;          /* sd of the runs' positions across the line */
};

/* Where a run's samples lie on the road, as its rider counts: of a reversed run from the line's end
 * backwards, so that it too goes from less to more. Owns its columns. */
struct cw_along {
    size_t n;        /* samples of the run: last - first + 1 */
    double *road_m;  /* each raw position projected on the line; NaN where it is missing */
    double *s_m;     /* integrated smooth speed, tied to the line by least squares */
    double tie_sd_m; /* sd of road_m - s_m: wander along the road, and what the speed missed */
    double scale; /* length by the line over length by the speed, by least squares; 1 is agreement.
                   * Not applied to s_m. NaN without positions */
};

/* The line shared by the kept runs of road number `road`, and each such run's place on it.
 * The line is the median across the runs of their lines, smoothed along it, so that wander neither
 * bends it nor makes it longer; it is as long as the runs together reach. A position is projected
 * near where the integrated speed puts it, so that it cannot jump to the other arm of a hairpin.
 * s_m is shift + integrated smooth speed, one shift a run.
 * along: an array of runs->n, filled for kept runs of this road (others are left alone).
 * Recordings without positions (distance only): the line has n = 0 and s_m starts at 0.
 * CW_E_ARGUMENT if no kept run is on that road.
 * Free with cw_road_free and, for every element filled, cw_along_free; after an error nothing is
 * left to free. */
enum cw_status cw_road_make(const struct cw_recording *recordings, const struct cw_motion *motions,
                            const struct cw_runs *runs, size_t road, struct cw_road *line,
                            struct cw_along *along, struct cw_error *error);
void cw_road_free(struct cw_road *road);

/* How much the line bends at s_m, 1/m, as its heading turns over 30 m: the sharpest that can be
 * told from positions. Never below 0; 0 beyond the ends and of a road without a line. */
double cw_road_curvature(const struct cw_road *road, double s_m);
void cw_along_free(struct cw_along *along);

CW_PUBLIC_END

#endif
