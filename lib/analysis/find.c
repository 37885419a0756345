/* Finding: from recordings to runs with their roads and setups. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/analysis.h"
#include "analysis/label.h"
#include "analysis/tell.h"
#include "analysis/wake.h"
#include "analysis/winds.h"
#include "road/shared.h"

/* A recording of which no motion can be made is left out of loose ones; an outing needs all of its
 * recordings. */
static enum cw_status make_motions(struct cw_analysis *analysis, struct cw_analysed *of,
                                   struct cw_error *error) {
    size_t n = of->n_recordings, usable = 0;
    bool level =
        of->has_file ? of->outing.elevation == CW_ELEVATION_LEVEL : analysis->options.level;
    enum cw_status (*make)(const struct cw_recording *, struct cw_motion *, struct cw_error *) =
        level ? cw_motion_make_level : cw_motion_make;
    struct cw_error fault = {0};
    of->motions = calloc(n ? n : 1, sizeof *of->motions);
    if (!of->motions) return cw_error_memory(error);
    for (size_t i = 0; i < n; i++) {
        if (n > 1) cw_tell_progress(analysis, "finding runs in", i + 1, n, of->recordings[i].file);
        if (make(&of->recordings[i], &of->motions[i], &fault) >= 0) {
            usable++;
            continue;
        }
        cw_motion_free(&of->motions[i]); /* leaves it without samples */
        if (of->has_file || fault.code == CW_E_MEMORY)
            return cw_nothing_left(analysis, 1, &fault, error);
        cw_leave_out(analysis, n, &fault);
    }
    return usable ? CW_OK : cw_nothing_left(analysis, n, &fault, error);
}

/* What the heights tell of where they come from counts where the outing file does not say. */
static enum cw_status tell_heights(struct cw_analysed *of, struct cw_error *error) {
    enum cw_status status =
        cw_height_kind_tell(of->recordings, of->motions, of->n_recordings, &of->heights, error);
    if (status >= 0 && of->has_file && !of->outing.elevation_given && of->heights.told)
        of->outing.elevation = of->heights.kind;
    return status;
}

/* Turns down what the file skips, then tells the roads of what is left, then sets the setups. */
static enum cw_status label(struct cw_analysed *of, struct cw_error *error) {
    if (of->has_file) of->labelled = cw_runs_skip(&of->runs, &of->outing, &of->label_error);
    of->skip_failed = of->labelled < 0;
    enum cw_status status = CW_OK;
    if (of->has_file) status = cw_analysed_turn_down_wakes(of, error);
    if (status >= 0) status = cw_roads_number(of->recordings, of->motions, &of->runs, error);
    if (status < 0 || !of->has_file) return status;
    cw_roads_keep_one(&of->runs);
    if (of->labelled == CW_OK)
        of->labelled = cw_runs_label(&of->runs, &of->outing, &of->label_error);
    bool unused;
    status = cw_analysed_log(of, error);
    return status >= 0 ? cw_analysed_tell_wind(of, NULL, &unused, error) : status;
}

static enum cw_status find_runs(struct cw_analysed *of, struct cw_error *error) {
    struct cw_runs_options options = cw_runs_options_default();
    double mass_kg =
        of->has_file ? cw_outing_bicycle(&of->outing, 0, CW_NO_SETUP).mass_kg : (double)NAN;
    if (isfinite(mass_kg)) options.mass_kg = mass_kg;
    enum cw_status status =
        cw_runs_find(of->recordings, of->motions, of->n_recordings, &options, &of->runs, error);
    return status >= 0 ? label(of, error) : status;
}

enum cw_status cw_analysis_find(struct cw_analysis *analysis, struct cw_error *error) {
    enum cw_status status = CW_OK;
    for (size_t i = 0; i < analysis->n && status >= 0; i++) {
        struct cw_analysed *of = &analysis->outings[i];
        status = make_motions(analysis, of, error);
        if (status >= 0) status = tell_heights(of, error);
        if (status >= 0) status = find_runs(of, error);
    }
    return status;
}

enum cw_status cw_analysis_find_again(struct cw_analysis *analysis, struct cw_error *error) {
    struct cw_analysed *of = &analysis->outings[0];
    cw_runs_free(&of->runs);
    of->labelled = CW_OK;
    return find_runs(of, error);
}

/* Leaves out what no motion could be made of. */
static void drop_unusable(struct cw_analysed *of) {
    size_t kept = 0;
    for (size_t i = 0; i < of->n_recordings; i++) {
        if (!of->motions[i].n) {
            cw_recording_free(&of->recordings[i]);
            cw_motion_free(&of->motions[i]);
            continue;
        }
        of->recordings[kept] = of->recordings[i];
        of->motions[kept++] = of->motions[i];
    }
    of->n_recordings = kept;
}

/* The outing's recordings are those that were read. */
static enum cw_status name_recordings(struct cw_analysed *of, struct cw_error *error) {
    struct cw_outing *outing = &of->outing;
    for (size_t i = 0; i < outing->n_recordings; i++) free(outing->recordings[i]);
    free(outing->recordings);
    outing->n_recordings = 0;
    outing->recordings = calloc(of->n_recordings + 1, sizeof *outing->recordings);
    if (!outing->recordings) return cw_error_memory(error);
    for (size_t i = 0; i < of->n_recordings; i++) {
        outing->recordings[i] = strdup(of->recordings[i].file);
        if (!outing->recordings[i]) return cw_error_memory(error);
        outing->n_recordings++;
    }
    return CW_OK;
}

enum cw_status cw_analysis_adopt(struct cw_analysis *analysis, const struct cw_outing *outing,
                                 struct cw_error *error) {
    struct cw_analysed *of = &analysis->outings[0];
    of->has_file = true;
    of->outing = *outing;
    if (!outing->elevation_given && of->heights.told) of->outing.elevation = of->heights.kind;
    drop_unusable(of);
    enum cw_status status = name_recordings(of, error);
    if (status >= 0) status = cw_check_overlap(of, error);
    return status >= 0 ? cw_analysis_find_again(analysis, error) : status;
}

static bool any_kept(const struct cw_runs *runs) {
    for (size_t i = 0; i < runs->n; i++)
        if (runs->at[i].kept) return true;
    return false;
}

enum cw_status cw_analysed_check(const struct cw_analysed *of, bool with_setups,
                                 struct cw_error *error) {
    const struct cw_outing *outing = &of->outing;
    bool kept = any_kept(&of->runs);
    /* An order that was never given is no fault where setups are not needed. */
    bool in_order =
        of->labelled == CW_OK || (!with_setups && !outing->order.n && kept && !of->skip_failed);
    if (!in_order && (kept || of->skip_failed)) { /* without a run no order is at fault */
        if (error) *error = of->label_error;
        return of->label_error.code;
    }
    if (kept) return CW_OK;
    if (of->runs.n)
        return cw_error_set(error, CW_E_DATA, outing->file, 0,
                            "no run can be used: the list of runs says why of each");
    return cw_error_set(error, CW_E_DATA, outing->file, 0,
                        "no run was found: coast down a slope, or on the level from speed, again "
                        "and again over the same road, without pedalling or braking");
}
