/* The fit of an outing: CdA and Crr run by run, alone and together, with the noise that was found.
 *
 * The noise model's variances, the profiles' roughness and the recorders' lags are found once, by
 * REML over all runs together. A run alone is then fitted by the same equations with no other run
 * in them. */
#ifndef CW_FIT_FIT_H
#define CW_FIT_FIT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"
#include "base/public.h"
#include "fit/noise.h"
#include "fit/place.h"
#include "road/ridden.h"

CW_PUBLIC_BEGIN

struct cw_fit_workings;

/* The acceleration to the side that the cost of bends is told for, in g: 10 m/s round 50 m. */
#define CW_BENDS_ASIDE 0.2

/* Where a Crr is to be held against one of another day. */
#define CW_CRR_AT_C 20

/* A place where something came within a second or two that neither drag, rolling and gusts nor the
 * recorder's usual errors explain, and that is left out of the run's CdA: energy lost (brakes, a
 * bend) or won (pedal strokes), or a jump of the recorded heights. */
struct cw_fit_break {
    double at_m;     /* along the road, as its rider counts */
    double height_m; /* lost, or won where below 0; jumped up, or down where below 0 */
    double speed_ms; /* by which a loss made the run slower there; of a jump 0 */
};

struct cw_fit_run {
    size_t run;   /* index into the runs found */
    size_t setup; /* index of its setup; (size_t)-1 if it has none */
    size_t tyres; /* index of its set of tyres */
    double mass_kg;
    double density_kgm3; /* of its air, on the mean over its way; NaN where it is but expected */
    /* Alone. The correlation is that between CdA and Crr; where it leaves them undetermined,
     * identifiable is false and neither estimate means anything. CdA may be known where Crr is
     * not. */
    struct cw_estimate alone_cda_m2, alone_crr;
    double correlation;
    bool identifiable, crr_known;
    struct cw_estimate together_cda_m2;
    bool together_identifiable;
    double *gust_ms; /* owned by the fit; the likeliest wind about its mean at each grid point of
                      * workings->joint.data */
    size_t n_losses, n_jumps;
    struct cw_fit_break *losses, *jumps; /* owned by the fit; in their order along the run */
};

/* A recording's own unknowns. */
struct cw_fit_recorder {
    size_t device; /* recordings of one device have the same number, and one lag */
    double lag_s, lag_error_s;
    double scale;                       /* relative error of the speeds */
    double temperature_c, density_kgm3; /* its air, at the height of the place */
    enum cw_air_source temperature_by;
};

/* Owns what it points to, where a field does not say that it is borrowed. */
struct cw_fit {
    struct cw_ridden of; /* borrowed */
    struct cw_place place;
    size_t n_runs;
    struct cw_fit_run *runs;
    size_t n_tyres;
    const char **tyres;      /* names, borrowed from the outing */
    struct cw_estimate *crr; /* at temperature_c */
    bool crr_given, *crr_identifiable;
    /* Tyres roll worse in the cold. The runs' mean temperature, and that of the coldest and the
     * warmest; by what part Crr falls a kelvin, as stated beforehand (CW_CRR_FALL_1K) or, where
     * runs differ in it, as they tell it too; and Crr at CW_CRR_AT_C. */
    double temperature_c, coldest_c, warmest_c;
    struct cw_estimate crr_fall_1k, *crr_at_20c;
    size_t n_recorders;
    struct cw_fit_recorder *recorders;
    struct cw_noise noise;
    /* Where a road was ridden both ways (wind_told): the mean wind along the road, m/s, + is a
     * headwind to who rides it the way of its first run. */
    bool wind_told;
    struct cw_estimate wind_along_ms;
    enum cw_wind_use wind_use[CW_WIND_SEEN]; /* what came of notes and an air log */
    /* Where the runs tell what bends cost (bends_told): how much more Crr is at CW_BENDS_ASIDE g to
     * the side; it goes with the square of that. */
    bool bends_told;
    struct cw_estimate bends_crr;
    size_t n_roads;
    struct cw_fit_workings *workings; /* how it was worked out: fit/workings.h */
};

/* Fits. CW_E_DATA when no run is kept or none has elevations; CW_E_NUMERIC. Free with cw_fit_free,
 * also after an error. What input points to must outlive it. */
enum cw_status cw_fit_outing(const struct cw_ridden *input, struct cw_fit *fit,
                             struct cw_error *error);
void cw_fit_free(struct cw_fit *fit);

/* Whether an interval says anything: a CdA known to half its value, or to half the usual one where
 * it is more; else of runs that hardly tell theirs those that came out too high would be shown. */
bool cw_cda_known(const struct cw_estimate *cda_m2);

CW_PUBLIC_END

#endif
