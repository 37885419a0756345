/* Breaks in a run's even course. A brake touched, a few pedal strokes, a corner taken badly: energy
 * goes or comes within a second or two, where neither wind nor the recorder's errors are likely to
 * have made it. Or a barometer's heights jump by a metre where the road does not: a gust at the
 * case, a lorry. Each is one more unknown of its run, about as large as it seems to be; to the fit
 * it is a step of the run with more noise (cw_run_data's break_sd_m). */
#ifndef CW_FIT_BREAKS_H
#define CW_FIT_BREAKS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "fit/fit.h"
#include "fit/joint.h"
#include "fit/noise.h"

/* Sets break_sd_m and break_m where a step departs from what noise lets expect by five standard
 * errors, the farthest first and one after the other, and takes back what that leaves unneeded. So
 * many steps that they are no exceptions speak of noise that was taken too small: at most one in a
 * hundred is added at a time; the noise is to be found anew, and then this called again. *changed:
 * whether any step came or went. joint is as linearised about its basis. */
enum cw_status cw_breaks_find(struct cw_joint *joint, const struct cw_noise *noise, bool *changed,
                              struct cw_error *error);

/* A run's breaks of a kind as they were found; steps within three seconds of each other are one.
 * *list is to be freed by the caller; NULL where there are none. */
enum cw_status cw_breaks_list(const struct cw_joint *joint, size_t run, enum cw_break kind,
                              struct cw_fit_break **list, size_t *n, struct cw_error *error);

#endif
