/* Opening: from paths to outings and recordings. */
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "analysis/analysis.h"
#include "analysis/outings.h"
#include "analysis/results.h"
#include "analysis/tell.h"
#include "base/each.h"
#include "outing/input.h"
#include "outing/read.h"
#include "outing/read_source.h"
#include "recording/overlap.h"
#include "recording/read_source.h"
#include "recording/source.h"
#include "recording/xml.h"

void cw_analysis_begin(struct cw_analysis *analysis, const struct cw_analysis_options *options) {
    *analysis = (struct cw_analysis){0};
    if (options) analysis->options = *options;
}

void cw_analysed_free(struct cw_analysed *of) {
    cw_compare_free(&of->average);
    cw_timed_free(&of->timed);
    cw_explained_times_free(&of->more_times);
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
    for (size_t i = 0; i < analysis->n; i++) cw_analysed_free(&analysis->outings[i]);
    free(analysis->outings);
    cw_analysis_begin(analysis, &analysis->options);
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
    enum cw_status status = cw_xml_ready(error);
    if (status < 0) return status;
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

struct reading {
    const struct cw_analysis *analysis;
    struct cw_analysed *of;
};

static enum cw_status read_one(void *context, size_t i, struct cw_error *error) {
    const struct reading *reading = context;
    return read_recording(reading->analysis, reading->of->outing.recordings[i],
                          &reading->of->recordings[i], error);
}

/* What is waited for next. */
static void tell_reading(const struct cw_analysis *analysis, size_t i, size_t n,
                         const char *const *paths) {
    if (i < n) cw_tell_progress(analysis, "reading", i + 1, n, paths[i]);
}

static enum cw_status tell_one(void *context, size_t i, enum cw_status came_to,
                               struct cw_error *error) {
    const struct reading *reading = context;
    const struct cw_outing *outing = &reading->of->outing;
    (void)error;
    if (came_to < 0) return came_to;
    tell_warnings(reading->analysis, &reading->of->recordings[i]);
    tell_reading(reading->analysis, i + 1, outing->n_recordings,
                 (const char *const *)outing->recordings);
    return CW_OK;
}

/* The recordings that an outing names, and its air log. */
static enum cw_status read_recordings(const struct cw_analysis *analysis, struct cw_analysed *of,
                                      struct cw_error *error) {
    size_t n = of->outing.n_recordings;
    struct reading reading = {analysis, of};
    of->recordings = calloc(n ? n : 1, sizeof *of->recordings);
    if (!of->recordings) return cw_error_memory(error);
    of->n_recordings = n;
    const struct cw_each each = {.n = n,
                                 .threads = analysis->options.threads,
                                 .context = &reading,
                                 .work = read_one,
                                 .told = tell_one};
    tell_reading(analysis, 0, n, (const char *const *)of->outing.recordings);
    enum cw_status status = cw_each(&each, error);
    if (status >= 0) status = read_log(analysis, of, error);
    return status >= 0 ? cw_check_overlap(of, error) : status;
}

enum cw_status cw_analysis_take(struct cw_analysis *analysis, const struct cw_outing *outing,
                                struct cw_recording *recordings, size_t n, struct cw_error *error) {
    struct cw_analysed of = {
        .has_file = true, .outing = *outing, .n_recordings = n, .recordings = recordings};
    enum cw_status status = add_outings(analysis, 1, error);
    if (status < 0)
        cw_analysed_free(&of);
    else
        analysis->outings[analysis->n - 1] = of;
    return status;
}

/* Where an outing is from. */
struct given {
    const char *path;
    struct cw_source *source; /* open already, where it can be read but once; else NULL */
    struct cw_error *fault;   /* of a result that cannot be used; else NULL */
};

struct giving {
    struct cw_analysis *analysis;
    size_t n, room;
    struct given *given; /* one an outing of the analysis */
};

static enum cw_status open_outing(const struct cw_analysis *analysis, size_t i, void *context,
                                  struct cw_error *error) {
    const struct given *given = &((const struct given *)context)[i];
    struct cw_analysed *of = &analysis->outings[i];
    for (size_t k = 0; of->saved && k < of->n_recordings; k++)
        tell_warnings(analysis, &of->recordings[k]);
    if (of->saved) return CW_OK;
    if (given->fault && error) *error = *given->fault;
    if (given->fault) return given->fault->code;
    of->has_file = true;
    enum cw_status status = given->source ? cw_outing_read_source(given->source, &of->outing, error)
                                          : cw_outing_read(given->path, &of->outing, error);
    return status >= 0 ? read_recordings(analysis, of, error) : status;
}

static void tell_opened(const struct cw_analysis *analysis, size_t i) {
    const struct cw_analysed *of = &analysis->outings[i];
    for (size_t k = 0; k < of->n_recordings; k++) tell_warnings(analysis, &of->recordings[k]);
}

/* All outings that are new are from there. */
static enum cw_status give(struct giving *giving, const struct given *from,
                           struct cw_error *error) {
    size_t most = giving->analysis->n;
    if (most > giving->room) {
        size_t room = 2 * most;
        struct given *more = realloc(giving->given, room * sizeof *more);
        if (!more) return cw_error_memory(error);
        giving->given = more;
        giving->room = room;
    }
    while (giving->n < most) giving->given[giving->n++] = *from;
    return CW_OK;
}

/* The outings of a result, or one that has no file. */
static enum cw_status give_result(struct giving *giving, struct given *from,
                                  struct cw_source *source, struct cw_error *error) {
    struct cw_analysis *analysis = giving->analysis;
    enum cw_status status = cw_result_read(source, &analysis->outings, &analysis->n, error);
    if (status >= 0 || status == CW_E_MEMORY) return status;
    from->fault = malloc(sizeof *from->fault);
    if (!from->fault) return cw_error_memory(error);
    *from->fault = *error;
    return add_outings(analysis, 1, error);
}

/* What can be read but once stays open. */
static enum cw_status give_file(struct giving *giving, const char *path, struct cw_error *error) {
    struct cw_analysis *analysis = giving->analysis;
    struct given from = {.path = path};
    struct cw_source *source = NULL;
    struct stat about;
    bool result = false,
         once = !strcmp(path, "-") || (!stat(path, &about) && !S_ISREG(about.st_mode));
    enum cw_status status = CW_OK;
    if (analysis->options.results) status = open_source(analysis, path, &source, error);
    if (status >= 0 && source) status = cw_result_begins(source, &result, error);
    once = once && status >= 0; /* but for memory, whoever reads it will say why */
    if (status != CW_E_MEMORY)
        status =
            result ? give_result(giving, &from, source, error) : add_outings(analysis, 1, error);
    if (source && once && !result && status >= 0)
        from.source = source;
    else
        cw_source_close(source);
    if (status >= 0) status = give(giving, &from, error);
    if (status >= 0) return status;
    free(from.fault);
    cw_source_close(from.source);
    return status;
}

enum cw_status cw_analysis_open_outings(struct cw_analysis *analysis, const char *const *paths,
                                        size_t n, struct cw_error *error) {
    struct giving giving = {.analysis = analysis};
    enum cw_status status = CW_OK;
    for (size_t i = 0; i < n && status >= 0; i++) status = give_file(&giving, paths[i], error);
    const char **files = calloc(giving.n + 1, sizeof *files);
    if (!files && status >= 0) status = cw_error_memory(error);
    for (size_t i = 0; files && i < giving.n; i++) files[i] = giving.given[i].path;
    const struct cw_outing_work work = {.doing = "reading",
                                        .files = files,
                                        .context = giving.given,
                                        .work = open_outing,
                                        .told = tell_opened};
    if (status >= 0) status = cw_outings_work(analysis, &work, error);
    free(files);
    for (size_t i = 0; i < giving.n; i++) {
        free(giving.given[i].fault);
        cw_source_close(giving.given[i].source);
    }
    free(giving.given);
    return status;
}

struct opening {
    struct cw_analysis *analysis;
    const char *const *paths;
    size_t n;
    struct cw_input *inputs; /* one a path */
    struct cw_error fault;   /* of the last that was left out */
};

static enum cw_status open_file(void *context, size_t i, struct cw_error *error) {
    const struct opening *opening = context;
    enum cw_status status =
        read_input(opening->analysis, opening->paths[i], &opening->inputs[i], error);
    if (status < 0) cw_input_free(&opening->inputs[i]);
    return status;
}

/* Takes an input over into the analysis. */
static enum cw_status take_input(void *context, size_t i, enum cw_status came_to,
                                 struct cw_error *error) {
    struct opening *opening = context;
    struct cw_analysis *analysis = opening->analysis;
    struct cw_analysed *of = &analysis->outings[0];
    struct cw_input *input = &opening->inputs[i];
    if (came_to == CW_E_MEMORY) return came_to;
    if (came_to < 0) {
        opening->fault = *error;
        cw_leave_out(analysis, opening->n, error);
    } else if (!input->is_outing) {
        of->recordings[of->n_recordings++] = input->recording;
        tell_warnings(analysis, &input->recording);
        *input = (struct cw_input){0};
    } else if (opening->n > 1) {
        return cw_error_set(error, CW_E_ARGUMENT, opening->paths[i], 0,
                            "an outing file stands alone, without other files");
    } else {
        of->has_file = true;
        of->outing = input->outing;
        *input = (struct cw_input){0};
    }
    if (opening->n > 1) tell_reading(analysis, i + 1, opening->n, opening->paths);
    return CW_OK;
}

/* Into the analysis' only outing, which has room for n recordings. */
static enum cw_status open_files(struct opening *opening, struct cw_error *error) {
    size_t n = opening->n;
    opening->inputs = calloc(n ? n : 1, sizeof *opening->inputs);
    if (!opening->inputs) return cw_error_memory(error);
    const struct cw_each each = {.n = n,
                                 .threads = opening->analysis->options.threads,
                                 .context = opening,
                                 .work = open_file,
                                 .told = take_input};
    if (n > 1) tell_reading(opening->analysis, 0, n, opening->paths);
    enum cw_status status = cw_each(&each, error);
    for (size_t i = 0; i < n; i++) cw_input_free(&opening->inputs[i]);
    free(opening->inputs);
    return status;
}

enum cw_status cw_analysis_open_files(struct cw_analysis *analysis, const char *const *paths,
                                      size_t n, struct cw_error *error) {
    struct opening opening = {.analysis = analysis, .paths = paths, .n = n};
    enum cw_status status = add_outings(analysis, 1, error);
    if (status < 0) return status;
    struct cw_analysed *of = &analysis->outings[0];
    of->recordings = calloc(n ? n : 1, sizeof *of->recordings);
    if (!of->recordings) return cw_error_memory(error);
    status = open_files(&opening, error);
    if (status < 0) return status;
    if (of->has_file) {
        free(of->recordings);
        of->recordings = NULL;
        return read_recordings(analysis, of, error);
    }
    if (of->n_recordings == 0)
        return cw_nothing_left(analysis, n, "recordings", &opening.fault, error);
    /* Whoever only looks at runs may put two devices side by side. */
    struct cw_error fault;
    if (cw_recordings_check_overlap(of->recordings, NULL, of->n_recordings, &fault) < 0) {
        struct cw_notice notice = {
            .kind = CW_NOTICE_WARNING, .file = fault.file, .message = fault.message};
        cw_tell(analysis, &notice);
    }
    return CW_OK;
}
