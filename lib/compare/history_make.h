/* How the history of a comparison is made. Inside the room only. */
#ifndef CW_COMPARE_HISTORY_MAKE_H
#define CW_COMPARE_HISTORY_MAKE_H

#include <stddef.h>

#include "base/error.h"
#include "compare/compare.h"
#include "compare/history.h"
#include "fit/fit.h"

/* Fits in the order in which they were given. Empty for one outing. Free with cw_history_free, also
 * after an error. */
enum cw_status cw_history_make(const struct cw_fit *const *fits, size_t n,
                               const struct cw_compare *compare, struct cw_history *history,
                               struct cw_error *error);
void cw_history_free(struct cw_history *history);

#endif
