/* Whether runs ride like another setup than the one they are labelled with: a list written a line
 * too low, two runs swapped. */
#ifndef CW_COMPARE_LABELS_H
#define CW_COMPARE_LABELS_H

#include <stddef.h>

#include "base/error.h"
#include "compare/compare.h"

/* Looks for the one run that changes its setup, or the two that change places, after which runs of
 * one setup agree by far better (their variance within is a sixth and less, which chance does in
 * one outing of a hundred). From each run's setup and log CdA. None is doubted among more than 200
 * runs or 16 setups, with fewer than three more runs than setups, or where a setup would be left
 * with one run. */
void cw_labels_look(const size_t *setup, const double *log_cda, size_t n, size_t n_setups,
                    struct cw_labels_doubt *doubt);

#endif
