/* Losses at a place: a brake touched, a few pedal strokes, a corner taken badly. Energy goes or
 * comes within a second or two, where neither wind nor the recorder's errors are likely to have
 * made it. Each is one more unknown of its run, about as large as it seems to be; to the fit it is
 * a step of the run with more noise (cw_run_data's loss_sd_m). */
#ifndef CW_FIT_LOSSES_H
#define CW_FIT_LOSSES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "fit/fit.h"
#include "fit/joint.h"
#include "fit/noise.h"

/* Sets loss_sd_m and loss_m where a step departs from what noise lets expect by five standard
 * errors, the farthest first and one after the other, and takes back what that leaves unneeded. So
 * many steps that they are no exceptions speak of noise that was taken too small: at most one in a
 * hundred is added at a time; the noise is to be found anew, and then this called again. *changed:
 * whether any step came or went. joint is as linearised about its basis. */
enum cw_status cw_losses_find(struct cw_joint *joint, const struct cw_noise *noise, bool *changed,
                              struct cw_error *error);

/* A run's losses as they were found; steps within three seconds of each other are one. *losses is
 * to be freed by the caller; NULL where there are none. */
enum cw_status cw_losses_list(const struct cw_joint *joint, size_t run, struct cw_fit_loss **losses,
                              size_t *n, struct cw_error *error);

#endif
