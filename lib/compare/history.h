/* Setups and tyres along time: what each outing by itself has of them, beside what all have. */
#ifndef CW_COMPARE_HISTORY_H
#define CW_COMPARE_HISTORY_H

#include <stddef.h>

#include "base/estimate.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

/* An outing's own. */
struct cw_history_mark {
    size_t of;     /* the setup, as the comparison numbers them; the tyres, as the history does */
    size_t outing; /* as given */
    double time_s; /* of the outing's first run */
    size_t runs;
    struct cw_estimate estimate; /* CdA, m2; Crr at CW_CRR_AT_C */
};

/* Of a set of tyres over all outings. The outings' Crr scatter by an amount that is integrated out
 * (stats/components.h); what no scatter shows (mass, air, wind) is taken to be the same in all of
 * them, so that many outings make it no smaller. */
struct cw_history_tyres {
    const char *name; /* borrowed from an outing */
    size_t outings;
    struct cw_estimate crr; /* at CW_CRR_AT_C */
};

/* Only of what several outings have, setup by setup or tyres by tyres, in time order. Owns its
 * arrays. */
struct cw_history {
    size_t n_cda, n_crr, n_tyres;
    struct cw_history_mark *cda, *crr;
    struct cw_history_tyres *tyres; /* where there are two sets or more; else n_crr is 0 */
};

CW_PUBLIC_END

#endif
