#include "analysis/tell.h"

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

enum cw_status cw_nothing_left(const struct cw_analysis *analysis, size_t of, const char *what,
                               const struct cw_error *fault, struct cw_error *error) {
    if (of > 1)
        return cw_error_set(error, analysis->left_out, NULL, 0, "none of the %zu %s can be used",
                            of, what);
    if (error) *error = *fault;
    return fault->code;
}
