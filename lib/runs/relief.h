/* The ground under passes: how steep it is, from all who went over it.
 *
 * Two things tell. Heights: the mean of what the passes' heights do from step to step, each counted
 * by how little time it took, for heights drift with time. And fellows: a pass that coasts tells
 * the slope by its own loss of speed, and where at least three coast the same way their median is
 * good to a few parts in a thousand, however poor the heights are; it leaves out the one that
 * brushes its brake. At least a quarter of those who go there must coast, or some only look so.
 * What heights and fellows say is put together so that the fellows have it over short ways and the
 * heights over long ones: fellows' slopes are off by a little everywhere (wind, another CdA),
 * heights by decimetres or metres anywhere. How far, those show who coast by the heights
 * themselves; where fellows are farther from the heights than that, all pedalled alike. Beyond the
 * place where coasts end poor heights are believed less than that the ground goes on as before. */
#ifndef CW_RUNS_RELIEF_H
#define CW_RUNS_RELIEF_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "motion/motion.h"
#include "recording/recording.h"
#include "runs/options.h"
#include "runs/passes.h"

#define CW_OFF_WAYS 5
#define CW_OFF_WAY_M 40.0
/* None is off by more standard deviations than this: what they are like is told by few. */
#define CW_OFF_SDS 5.0

/* Owns its columns, a value a node: of the way from it to the next. */
struct cw_relief {
    size_t n;
    double *by_heights; /* dh/ds along the line; NaN where no pass has heights */
    unsigned *passes;   /* how many had heights there */
    double *slope[2];   /* dh/ds along the line for those who go along it and against it */
    /* How far heights are off, in the middle, from what fellows add up to over CW_OFF_WAY_M and
     * each time twice that; never less over a longer way. NaN where there are no fellows. */
    double off_m[CW_OFF_WAYS];
    unsigned *fellows[2]; /* how many who coasted there tell it; 0 where too few */
};

/* The slope by heights alone: height_m[r] are those of recording r. Free with cw_relief_free, also
 * after an error. */
enum cw_status cw_relief_make(const struct cw_recording *recordings,
                              const struct cw_motion *motions, double *const *height_m,
                              const struct cw_passes *passes, struct cw_relief *relief,
                              struct cw_error *error);
void cw_relief_free(struct cw_relief *relief);

/* How far the passes' heights are apart: the mean square of how far each is from the ground that
 * they make together over some 40 m, of those who are not alone there, and in *compared how many
 * such ways there are. NaN without any. */
double cw_relief_apart(const struct cw_relief *relief, const struct cw_motion *motions,
                       double *const *height_m, const struct cw_passes *passes, size_t *compared);

/* Takes in what coasting fellows say: coasts[r] has a value for each sample of recording r, true
 * where it may be taken to coast; NULL where nothing is known. cda_m2: what
 * coasts show in the middle. */
enum cw_status cw_relief_ask_fellows(const struct cw_motion *motions,
                                     const struct cw_passes *passes, bool *const *coasts,
                                     double cda_m2, const struct cw_runs_options *options,
                                     struct cw_relief *relief, struct cw_error *error);

/* How far heights are off over a way, a standard deviation; NaN where nobody knows. */
double cw_relief_off_m(const struct cw_relief *relief, double way_m);

/* The heights of a recording, own_height_m, by the ground where at least three passes tell it,
 * going on from its own where not; by_fellows: where coasting fellows tell it. sd_m: what is left
 * of the scatter of the heights that they don't tell, its mean over the samples. */
void cw_relief_heights(const struct cw_relief *relief, const struct cw_walk *walk,
                       const struct cw_motion *motion, const double *own_height_m, double *height_m,
                       bool *by_fellows, double *sd_m);

#endif
