/* Several outings, each worked on by itself. Inside the room only. */
#ifndef CW_ANALYSIS_OUTINGS_H
#define CW_ANALYSIS_OUTINGS_H

#include "analysis/analysis.h"

struct cw_outing_work {
    const char *doing;        /* "reading", said of several; NULL: nothing is */
    const char *const *files; /* their names, where the outings are not read yet; else NULL */
    void *context;
    /* Outing i, in any thread; the analysis has the options that hold there. */
    enum cw_status (*work)(const struct cw_analysis *analysis, size_t i, void *context,
                           struct cw_error *error);
    /* In the caller's thread and in their order, of several those that went well; may be NULL. */
    void (*told)(const struct cw_analysis *analysis, size_t i);
};

/* One outing is worked on with all threads, and its fault is that of the analysis; of several each
 * with one and quietly, and where that fails it is noticed and left out, while any is left. */
enum cw_status cw_outings_work(struct cw_analysis *analysis, const struct cw_outing_work *work,
                               struct cw_error *error);

void cw_analysed_free(struct cw_analysed *of);

#endif
