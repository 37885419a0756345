/* Timed runs by setup, and setups against each other. */
#ifndef CW_TIMED_SETUPS_H
#define CW_TIMED_SETUPS_H

#include "timed/timed.h"

/* From timed->runs: sets setups, comparisons and entry. n_setups is the outing's. */
enum cw_status cw_timed_setups_make(const struct cw_setup *setups, size_t n_setups,
                                    size_t reference, struct cw_timed *timed,
                                    struct cw_error *error);

#endif
