#include "analysis/outings.h"

#include <stdlib.h>

#include "analysis/tell.h"
#include "base/each.h"

struct several {
    struct cw_analysis *analysis;
    struct cw_analysis quiet; /* the same outings; says nothing, and has one thread */
    const struct cw_outing_work *how;
    bool *failed; /* one an outing */
    struct cw_error fault;
};

static enum cw_status work_on(void *context, size_t i, struct cw_error *error) {
    const struct several *several = context;
    return several->how->work(&several->quiet, i, several->how->context, error);
}

/* What is waited for next. */
static void tell_progress(const struct several *several, size_t i) {
    const struct cw_analysis *analysis = several->analysis;
    if (i >= analysis->n || !several->how->doing) return;
    const char *const *files = several->how->files;
    const char *file = files ? files[i] : analysis->outings[i].outing.file;
    cw_tell_progress(analysis, several->how->doing, i + 1, analysis->n, file ? file : "");
}

static enum cw_status tell(void *context, size_t i, enum cw_status came_to,
                           struct cw_error *error) {
    struct several *several = context;
    if (came_to == CW_E_MEMORY) return came_to;
    several->failed[i] = came_to < 0;
    if (came_to < 0) {
        several->fault = *error;
        cw_leave_out(several->analysis, several->analysis->n, error);
    } else if (several->how->told) {
        several->how->told(several->analysis, i);
    }
    tell_progress(several, i + 1);
    return CW_OK;
}

static void drop(struct cw_analysis *analysis, const bool *failed) {
    size_t kept = 0;
    for (size_t i = 0; i < analysis->n; i++) {
        if (failed[i])
            cw_analysed_free(&analysis->outings[i]);
        else
            analysis->outings[kept++] = analysis->outings[i];
    }
    analysis->n = kept;
}

enum cw_status cw_outings_work(struct cw_analysis *analysis, const struct cw_outing_work *how,
                               struct cw_error *error) {
    size_t n = analysis->n;
    if (n == 1) return how->work(analysis, 0, how->context, error);
    struct several several = {.analysis = analysis, .quiet = *analysis, .how = how};
    several.quiet.options = (struct cw_analysis_options){.limit_mb = analysis->options.limit_mb,
                                                         .level = analysis->options.level};
    several.failed = calloc(n ? n : 1, sizeof *several.failed);
    if (!several.failed) return cw_error_memory(error);
    const struct cw_each each = {.n = n,
                                 .threads = analysis->options.threads,
                                 .context = &several,
                                 .work = work_on,
                                 .told = tell};
    tell_progress(&several, 0);
    enum cw_status status = cw_each(&each, error);
    if (status >= 0) drop(analysis, several.failed);
    if (status >= 0 && n && !analysis->n)
        status = cw_nothing_left(analysis, n, "outings", &several.fault, error);
    free(several.failed);
    return status;
}
