/* What the runs of a setup tell of its CdA: its level, or only how it differs from another's. */
#ifndef CW_COMPARE_TOLD_H
#define CW_COMPARE_TOLD_H

#include <stdbool.h>
#include <stddef.h>

#include "compare/compare.h"

/* *told: whether the data of n fits alone tell a setup's CdA from nothing. *usual_part, 0 to 1:
 * what weight the CdA that riders usually have (fit/information.h) has beside them. CW_E_MEMORY. */
enum cw_status cw_told_level(const struct cw_fit *const *fits, size_t n, const char *setup,
                             bool *told, double *usual_part, struct cw_error *error);

/* Whether some outing's runs tell how setup number `setup` differs from another, to a part of its
 * CdA, whatever the level of both. */
bool cw_told_beside(const struct cw_fit *const *fits, size_t n, const struct cw_compare *compare,
                    size_t setup);

#endif
