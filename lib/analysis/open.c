/* Opening: from paths to outings and recordings. */
#include <stdlib.h>

#include "analysis/analysis.h"
#include "analysis/tell.h"
#include "outing/input.h"
#include "outing/read.h"
#include "outing/read_source.h"
#include "recording/overlap.h"
#include "recording/read_source.h"
#include "recording/source.h"

void cw_analysis_begin(struct cw_analysis *analysis, const struct cw_analysis_options *options) {
    *analysis = (struct cw_analysis){0};
    if (options) analysis->options = *options;
}

static void analysed_free(struct cw_analysed *of) {
    cw_compare_free(&of->average);
    cw_timed_free(&of->timed);
    cw_explained_free(&of->explained);
    if (of->fitted) cw_fit_free(&of->fit);
    cw_runs_free(&of->runs);
    for (size_t i = 0; of->motions && i < of->n_recordings; i++) cw_motion_free(&of->motions[i]);
    for (size_t i = 0; of->recordings && i < of->n_recordings; i++)
        cw_recording_free(&of->recordings[i]);
    free(of->motions);
    free(of->recordings);
    if (of->log) cw_air_log_free(of->log);
    free(of->log);
    if (of->has_file) cw_outing_free(&of->outing);
}

void cw_analysis_free(struct cw_analysis *analysis) {
    cw_compare_free(&analysis->compare);
    for (size_t i = 0; i < analysis->n; i++) analysed_free(&analysis->outings[i]);
    free(analysis->outings);
    cw_analysis_begin(analysis, &analysis->options);
}

void cw_tell_progress(const struct cw_analysis *analysis, const char *doing, size_t i, size_t n,
                      const char *file) {
    if (analysis->options.progress)
        analysis->options.progress(analysis->options.caller, doing, i, n, file);
}

void cw_tell(const struct cw_analysis *analysis, const struct cw_notice *notice) {
    if (analysis->options.notice) analysis->options.notice(analysis->options.caller, notice);
}

/* Whether the fault of an input weighs more than another: what cannot be read comes before what
 * cannot answer. */
static bool graver(enum cw_status one, enum cw_status other) {
    return other == CW_OK || (other == CW_E_DATA && one != CW_E_DATA);
}

void cw_leave_out(struct cw_analysis *analysis, size_t of, const struct cw_error *fault) {
    struct cw_notice notice = {.kind = CW_NOTICE_LEFT_OUT,
                               .file = fault->file,
                               .line = fault->line,
                               .message = fault->message};
    if (graver(fault->code, analysis->left_out)) analysis->left_out = fault->code;
    if (of > 1) cw_tell(analysis, &notice);
}

enum cw_status cw_nothing_left(const struct cw_analysis *analysis, size_t of,
                               const struct cw_error *fault, struct cw_error *error) {
    if (of > 1)
        return cw_error_set(error, analysis->left_out, NULL, 0,
                            "none of the %zu recordings can be used", of);
    if (error) *error = *fault;
    return fault->code;
}

static void tell_warnings(const struct cw_analysis *analysis,
                          const struct cw_recording *recording) {
    for (size_t i = 0; i < recording->warnings.n; i++) {
        const struct cw_warning *warning = &recording->warnings.at[i];
        if (warning->kind == CW_RECORDING_NO_ELEVATION) continue; /* no motion: that is said then */
        char text[CW_WARNING_TEXT];
        cw_warning_text(warning, false, text);
        struct cw_notice notice = {.kind = CW_NOTICE_WARNING,
                                   .file = recording->file,
                                   .line = warning->first_line,
                                   .message = text};
        cw_tell(analysis, &notice);
    }
}

/* Makes room for n more outings, all empty. */
static enum cw_status add_outings(struct cw_analysis *analysis, size_t n, struct cw_error *error) {
    struct cw_analysed *outings =
        realloc(analysis->outings, (analysis->n + n) * sizeof *analysis->outings);
    if (!outings) return cw_error_memory(error);
    analysis->outings = outings;
    for (size_t i = 0; i < n; i++) outings[analysis->n + i] = (struct cw_analysed){0};
    analysis->n += n;
    return CW_OK;
}

/* A file that is to be read within the bound. */
static enum cw_status open_source(const struct cw_analysis *analysis, const char *path,
                                  struct cw_source **source, struct cw_error *error) {
    enum cw_status status = cw_source_open(path, source, error);
    if (!status) cw_source_limit(*source, analysis->options.limit_mb);
    return status;
}

static enum cw_status read_recording(const struct cw_analysis *analysis, const char *path,
                                     struct cw_recording *recording, struct cw_error *error) {
    struct cw_source *source = NULL;
    enum cw_status status = open_source(analysis, path, &source, error);
    if (!status) status = cw_recording_read_source(source, recording, error);
    cw_source_close(source);
    return status;
}

static enum cw_status read_input(const struct cw_analysis *analysis, const char *path,
                                 struct cw_input *input, struct cw_error *error) {
    struct cw_source *source = NULL;
    *input = (struct cw_input){0};
    enum cw_status status = open_source(analysis, path, &source, error);
    if (!status) status = cw_input_read_source(source, input, error);
    cw_source_close(source);
    return status;
}

static enum cw_status read_log(const struct cw_analysis *analysis, struct cw_analysed *of,
                               struct cw_error *error) {
    const char *path = of->outing.air_log;
    if (!path) return CW_OK;
    cw_tell_progress(analysis, "reading", 1, 1, path);
    of->log = calloc(1, sizeof *of->log);
    if (!of->log) return cw_error_memory(error);
    struct cw_source *source = NULL;
    enum cw_status status = open_source(analysis, path, &source, error);
    if (!status) status = cw_air_log_read_source(source, of->outing.utc_offset_s, of->log, error);
    cw_source_close(source);
    return status;
}

enum cw_status cw_check_overlap(const struct cw_analysed *of, struct cw_error *error) {
    size_t *rider = malloc((of->n_recordings + 1) * sizeof *rider);
    if (!rider) return cw_error_memory(error);
    for (size_t i = 0; i < of->n_recordings; i++) rider[i] = cw_outing_rider_of(&of->outing, i);
    enum cw_status status =
        cw_recordings_check_overlap(of->recordings, rider, of->n_recordings, error);
    free(rider);
    return status;
}

/* The recordings that an outing names, and its air log. */
static enum cw_status read_recordings(const struct cw_analysis *analysis, struct cw_analysed *of,
                                      struct cw_error *error) {
    size_t n = of->outing.n_recordings;
    of->recordings = calloc(n ? n : 1, sizeof *of->recordings);
    if (!of->recordings) return cw_error_memory(error);
    for (size_t i = 0; i < n; i++) {
        cw_tell_progress(analysis, "reading", i + 1, n, of->outing.recordings[i]);
        of->n_recordings++;
        enum cw_status status =
            read_recording(analysis, of->outing.recordings[i], &of->recordings[i], error);
        if (status < 0) return status;
        tell_warnings(analysis, &of->recordings[i]);
    }
    enum cw_status status = read_log(analysis, of, error);
    if (status < 0) return status;
    return cw_check_overlap(of, error);
}

enum cw_status cw_analysis_take(struct cw_analysis *analysis, const struct cw_outing *outing,
                                struct cw_recording *recordings, size_t n, struct cw_error *error) {
    struct cw_analysed of = {
        .has_file = true, .outing = *outing, .n_recordings = n, .recordings = recordings};
    enum cw_status status = add_outings(analysis, 1, error);
    if (status < 0)
        analysed_free(&of);
    else
        analysis->outings[analysis->n - 1] = of;
    return status;
}

enum cw_status cw_analysis_open_outings(struct cw_analysis *analysis, const char *const *paths,
                                        size_t n, struct cw_error *error) {
    enum cw_status status = add_outings(analysis, n, error);
    for (size_t i = 0; i < n && status >= 0; i++) {
        struct cw_analysed *of = &analysis->outings[i];
        of->has_file = true;
        status = cw_outing_read(paths[i], &of->outing, error);
        if (status >= 0) status = read_recordings(analysis, of, error);
    }
    return status;
}

enum cw_status cw_analysis_open_files(struct cw_analysis *analysis, const char *const *paths,
                                      size_t n, struct cw_error *error) {
    struct cw_error fault;
    enum cw_status status = add_outings(analysis, 1, error);
    if (status < 0) return status;
    struct cw_analysed *of = &analysis->outings[0];
    of->recordings = calloc(n, sizeof *of->recordings);
    if (!of->recordings) return cw_error_memory(error);
    for (size_t i = 0; i < n; i++) {
        struct cw_input input;
        if (n > 1) cw_tell_progress(analysis, "reading", i + 1, n, paths[i]);
        if (read_input(analysis, paths[i], &input, &fault) < 0) {
            cw_input_free(&input);
            if (fault.code == CW_E_MEMORY) return cw_nothing_left(analysis, 1, &fault, error);
            cw_leave_out(analysis, n, &fault);
        } else if (!input.is_outing) {
            of->recordings[of->n_recordings++] = input.recording;
            tell_warnings(analysis, &input.recording);
        } else if (n > 1) {
            cw_input_free(&input);
            return cw_error_set(error, CW_E_ARGUMENT, paths[i], 0,
                                "an outing file stands alone, without other files");
        } else {
            free(of->recordings);
            *of = (struct cw_analysed){.has_file = true, .outing = input.outing};
            return read_recordings(analysis, of, error);
        }
    }
    if (of->n_recordings == 0) return cw_nothing_left(analysis, n, &fault, error);
    /* Whoever only looks at runs may put two devices side by side. */
    if (cw_recordings_check_overlap(of->recordings, NULL, of->n_recordings, &fault) < 0) {
        struct cw_notice notice = {
            .kind = CW_NOTICE_WARNING, .file = fault.file, .message = fault.message};
        cw_tell(analysis, &notice);
    }
    return CW_OK;
}
