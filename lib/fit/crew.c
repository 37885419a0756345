#include "fit/crew.h"

#include <stdlib.h>

#include "base/each.h"
#include "fit/joint_equations.h"

struct crew {
    const struct cw_joint *joint;
    const size_t *subset;
    size_t n, threads;
    cw_piece_work *work;
    void *context;
};

/* Every so manieth piece, from `first` on: those of a run are about as long, and so each thread has
 * about as much to do. */
static enum cw_status some(void *context, size_t first, struct cw_error *error) {
    const struct crew *crew = context;
    size_t piece = 0;
    for (size_t slot = 0; slot < crew->n; slot++) {
        size_t i = cw_joint_run_of(crew->subset, slot);
        for (size_t p = crew->joint->pieces.first[i]; p < crew->joint->pieces.first[i + 1]; p++) {
            if (piece++ % crew->threads != first) continue;
            enum cw_status status =
                crew->work(crew->context, crew->joint->whitener[first], i, p, error);
            if (status < 0) return status;
        }
    }
    return CW_OK;
}

enum cw_status cw_crew_work(const struct cw_joint *joint, const size_t *subset, size_t n,
                            cw_piece_work *work, void *context, struct cw_error *error) {
    struct crew crew = {joint, subset, n, joint->n_whiteners, work, context};
    const struct cw_each each = {
        .n = crew.threads, .threads = crew.threads, .context = &crew, .work = some};
    return cw_each(&each, error);
}

enum cw_status cw_crew_hire(struct cw_joint *joint, size_t threads, struct cw_error *error) {
    if (threads <= joint->n_whiteners) return CW_OK;
    struct cw_whitener **more = realloc(joint->whitener, threads * sizeof(struct cw_whitener *));
    if (!more) return cw_error_memory(error);
    joint->whitener = more;
    while (joint->n_whiteners < threads) {
        struct cw_whitener *whitener = cw_whitener_alloc(joint->most_nodes);
        if (!whitener) return cw_error_memory(error);
        joint->whitener[joint->n_whiteners++] = whitener;
    }
    return CW_OK;
}

void cw_crew_free(struct cw_joint *joint) {
    for (size_t k = 0; k < joint->n_whiteners; k++) cw_whitener_free(joint->whitener[k]);
    free(joint->whitener);
}
