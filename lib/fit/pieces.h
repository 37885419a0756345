/* Runs cut in pieces, where roads are long.
 *
 * All runs' equations together are as dense as the road has coefficients, and eliminating those
 * costs the cube of its length. Given the states of all runs where they pass a place, though, what
 * is before has nothing to do with what comes after (fit/whiten.h). So a road is cut into fronts,
 * and each run where it passes from one to the next: a front's unknowns are eliminated once its
 * pieces are in (fit/front.h), and the cost is the road's length times what a front costs. */
#ifndef CW_FIT_PIECES_H
#define CW_FIT_PIECES_H

#include <stddef.h>

#include "base/error.h"
#include "fit/profile.h"
#include "fit/run_data.h"

/* Grid points `from` up to `end`, on that front of the run's road. */
struct cw_piece {
    size_t from, end, front;
};

struct cw_pieces {
    struct cw_piece *piece; /* each run's follow those of the run before it, in the order of time */
    size_t *first;          /* n_runs + 1: of each run */
    size_t *n_fronts;       /* a road each, at least 1 */
};

/* Cuts roads into fronts of some so many coefficients, and no fewer; all runs then have pieces.
 * Runs aren't cut near their ends. Free with cw_pieces_free. */
enum cw_status cw_pieces_make(const struct cw_run_data *data, size_t n_runs,
                              const struct cw_profile *profile, size_t n_roads, size_t coefficients,
                              struct cw_pieces *pieces, struct cw_error *error);
void cw_pieces_free(struct cw_pieces *pieces);

#endif
