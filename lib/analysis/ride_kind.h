/* What kind of ride an outing's runs are: a test, or coasts here and there. Inside the library
 * only. */
#ifndef CW_ANALYSIS_RIDE_KIND_H
#define CW_ANALYSIS_RIDE_KIND_H

#include <stdbool.h>
#include <stddef.h>

#include "analysis/analysis.h"

/* The runs kept, and of those the ones on the road that most of them are on. */
struct cw_ride_kind {
    size_t kept, on_road, back, elsewhere;
    bool repeated;    /* some way of the road was ridden twice */
    bool tests;       /* and hardly by chance: setups can be compared by it */
    bool one_is_kept; /* cw_roads_keep_one turns down the others of an outing */
};
struct cw_ride_kind cw_ride_kind_of(const struct cw_analysed *of);

#endif
