/* The search for the noise, the lags, and the basis that all is linearised about. */
#ifndef CW_FIT_SEARCH_H
#define CW_FIT_SEARCH_H

#include "base/error.h"
#include "fit/joint.h"
#include "fit/reml.h"
#include "outing/outing.h"

/* How many of the joint's runs the noise is searched for in: all, but at most 32, or fewer long
 * ones that have 12,000 samples together, four at the least. Those know the noise to a few percent
 * of its standard deviations; more take their time and tell little that the intervals would show.
 * Of more, so many are searched, evenly over the outing. */
size_t cw_search_runs(const struct cw_joint *joint);

/* Finds noise and roughness (fit/noise_search.h), then the devices' lags, as reml's parameters in
 * that order, and in turns with them the basis of the joint, which is left as it was found. */
enum cw_status cw_search(struct cw_joint *joint, const struct cw_outing *outing,
                         struct cw_reml *reml, struct cw_error *error);

#endif
