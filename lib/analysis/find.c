/* Finding: from recordings to runs with their roads and setups. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/analysis.h"
#include "analysis/label.h"
#include "analysis/outings.h"
#include "analysis/tell.h"
#include "analysis/wake.h"
#include "analysis/winds.h"
#include "base/each.h"
#include "road/shared.h"

/* Of one outing. */
struct moving {
    const struct cw_analysis *analysis;
    struct cw_analysed *of;
    struct cw_analysis
        *leaves_out; /* loose recordings; NULL: an outing, which needs all of its own */
    size_t usable;
    struct cw_error fault; /* of the last that was left out */
};

static enum cw_status make_motion(void *context, size_t i, struct cw_error *error) {
    const struct moving *moving = context;
    const struct cw_analysed *of = moving->of;
    bool level =
        of->has_file ? of->outing.elevation == CW_ELEVATION_LEVEL : moving->analysis->options.level;
    enum cw_status status =
        (level ? cw_motion_make_level : cw_motion_make)(&of->recordings[i], &of->motions[i], error);
    if (status < 0) cw_motion_free(&of->motions[i]); /* leaves it without samples */
    return status;
}

static void tell_moving(const struct moving *moving, size_t i) {
    size_t n = moving->of->n_recordings;
    if (n > 1 && i < n)
        cw_tell_progress(moving->analysis, "finding runs in", i + 1, n,
                         moving->of->recordings[i].file);
}

static enum cw_status tell_motion(void *context, size_t i, enum cw_status came_to,
                                  struct cw_error *error) {
    struct moving *moving = context;
    if (came_to == CW_E_MEMORY || (came_to < 0 && !moving->leaves_out)) return came_to;
    if (came_to < 0) {
        moving->fault = *error;
        cw_leave_out(moving->leaves_out, moving->of->n_recordings, error);
    } else {
        moving->usable++;
    }
    tell_moving(moving, i + 1);
    return CW_OK;
}

/* A recording of which no motion can be made is left out of loose ones. */
static enum cw_status make_motions(struct moving *moving, struct cw_error *error) {
    struct cw_analysed *of = moving->of;
    size_t n = of->n_recordings;
    of->motions = calloc(n ? n : 1, sizeof *of->motions);
    if (!of->motions) return cw_error_memory(error);
    const struct cw_each each = {.n = n,
                                 .threads = moving->analysis->options.threads,
                                 .context = moving,
                                 .work = make_motion,
                                 .told = tell_motion};
    tell_moving(moving, 0);
    enum cw_status status = cw_each(&each, error);
    if (status >= 0 && !moving->usable)
        return cw_nothing_left(moving->analysis, n, "recordings", &moving->fault, error);
    return status;
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
    status = cw_roads_keep_one(&of->runs, error);
    if (status < 0) return status;
    if (of->labelled == CW_OK)
        of->labelled = cw_runs_label(&of->runs, &of->outing, &of->label_error);
    if (of->labelled == CW_E_MEMORY) return cw_error_memory(error); /* no fault of the file's */
    bool unused;
    status = cw_analysed_log(of, error);
    return status >= 0 ? cw_analysed_tell_wind(of, NULL, &unused, error) : status;
}

struct finding {
    const struct cw_analysis *analysis;
    struct cw_analysed *of;
};

static enum cw_status search(const struct finding *finding, struct cw_error *error) {
    struct cw_analysed *of = finding->of;
    struct cw_runs_options options = cw_runs_options_default();
    options.threads = finding->analysis->options.threads;
    double mass_kg =
        of->has_file ? cw_outing_bicycle(&of->outing, 0, CW_NO_SETUP).mass_kg : (double)NAN;
    if (isfinite(mass_kg)) options.mass_kg = mass_kg;
    return cw_runs_find(of->recordings, of->motions, of->n_recordings, &options, &of->runs, error);
}

static enum cw_status find_runs(const struct cw_analysis *analysis, struct cw_analysed *of,
                                struct cw_error *error) {
    const struct finding finding = {analysis, of};
    enum cw_status status = search(&finding, error);
    return status >= 0 ? label(of, error) : status;
}

/* Neither heeds the other. */
static enum cw_status heights_or_runs(void *context, size_t i, struct cw_error *error) {
    const struct finding *finding = context;
    return i == 0 ? tell_heights(finding->of, error) : search(finding, error);
}

static enum cw_status find_both(const struct cw_analysis *analysis, struct cw_analysed *of,
                                struct cw_error *error) {
    struct finding finding = {analysis, of};
    const struct cw_each each = {
        .n = 2, .threads = analysis->options.threads, .context = &finding, .work = heights_or_runs};
    enum cw_status status = cw_each(&each, error);
    return status >= 0 ? label(of, error) : status;
}

static enum cw_status find_in(const struct cw_analysis *analysis, size_t i, void *context,
                              struct cw_error *error) {
    struct cw_analysed *of = &analysis->outings[i];
    if (of->saved) return CW_OK;
    struct moving moving = {
        .analysis = analysis, .of = of, .leaves_out = of->has_file ? NULL : context};
    enum cw_status status = make_motions(&moving, error);
    return status >= 0 ? find_both(analysis, of, error) : status;
}

enum cw_status cw_analysis_find(struct cw_analysis *analysis, struct cw_error *error) {
    const struct cw_outing_work work = {
        .doing = "finding runs in", .context = analysis, .work = find_in};
    return cw_outings_work(analysis, &work, error);
}

enum cw_status cw_analysis_find_again(struct cw_analysis *analysis, struct cw_error *error) {
    struct cw_analysed *of = &analysis->outings[0];
    cw_runs_free(&of->runs);
    of->labelled = CW_OK;
    return find_runs(analysis, of, error);
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
