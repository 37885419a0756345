#include "fit/pieces.h"

#include <stdlib.h>

/* Pieces are at least so long: what a few samples tell of the states at both their ends would be
 * nearly singular. */
static const double least_m = 150;

/* All in distances as the run's rider counts: so each run passes its road's cuts in rising order.
 */
static size_t cut(const struct cw_run_data *data, const struct cw_profile *profile, size_t n_fronts,
                  struct cw_piece *piece) {
    double start = profile->start_m, length = cw_profile_end(profile) - start;
    size_t n = 0, from = 0, front = data->reversed ? n_fronts - 1 : 0;
    for (size_t k = 1; k < n_fronts; k++) {
        size_t boundary = data->reversed ? n_fronts - k : k,
               after = data->reversed ? boundary - 1 : boundary;
        double place = start + length * (double)boundary / (double)n_fronts;
        if (data->reversed) place = data->mirror_m - place;
        if (place > data->s_m[data->n - 1] - least_m) break;
        if (place > data->s_m[0] + least_m) {
            size_t end = from;
            while (data->s_m[end] < place) end++;
            piece[n++] = (struct cw_piece){from, end, front};
            from = end;
        }
        front = after;
    }
    piece[n++] = (struct cw_piece){from, data->n, front};
    return n;
}

enum cw_status cw_pieces_make(const struct cw_run_data *data, size_t n_runs,
                              const struct cw_profile *profile, size_t n_roads, size_t coefficients,
                              struct cw_pieces *pieces, struct cw_error *error) {
    size_t most = 0, n = 0;
    *pieces = (struct cw_pieces){0};
    pieces->first = malloc((n_runs + 1) * sizeof *pieces->first);
    pieces->n_fronts = malloc(n_roads * sizeof *pieces->n_fronts);
    if (!pieces->first || !pieces->n_fronts) goto no_memory;
    for (size_t road = 0; road < n_roads; road++) {
        size_t fronts = profile[road].n / coefficients;
        pieces->n_fronts[road] = fronts ? fronts : 1;
    }
    for (size_t i = 0; i < n_runs; i++) most += pieces->n_fronts[data[i].road];
    pieces->piece = malloc(most * sizeof *pieces->piece);
    if (!pieces->piece) goto no_memory;
    for (size_t i = 0; i < n_runs; i++) {
        size_t road = data[i].road;
        pieces->first[i] = n;
        n += cut(&data[i], &profile[road], pieces->n_fronts[road], pieces->piece + n);
    }
    pieces->first[n_runs] = n;
    return CW_OK;
no_memory:
    cw_pieces_free(pieces);
    return cw_error_memory(error);
}

void cw_pieces_free(struct cw_pieces *pieces) {
    free(pieces->piece);
    free(pieces->first);
    free(pieces->n_fronts);
    *pieces = (struct cw_pieces){0};
}
