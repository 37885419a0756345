/* What the parts of world.h have of each other. */
#ifndef CW_STUDY_WORLD_PARTS_H
#define CW_STUDY_WORLD_PARTS_H

#include "world.h"

/* What is left to chance, each with its own numbers, so that changing one leaves the others. */
enum {
    CHANCE_OUTING,
    CHANCE_ROAD,
    CHANCE_RIDER,
    CHANCE_WIND,
    CHANCE_CDA,
    CHANCE_DAY,
    CHANCE_HOLES,
    CHANCE_COMPANION,
    CHANCE_COMPANION_RIDER,
    CHANCE_COMPANION_WIND,
    CHANCE_NOTES,
    CHANCE_LOG,
    CHANCE_TAPE,
    CHANCE_WATCH,
    CHANCE_SWAP,
    CHANCE_WARMTH,
    CHANCE_HAIRPIN
};

static inline double world_drawn(struct chance *chance, struct world_range range) {
    return chance_even(chance, range.low, range.high);
}

/* 0 before, 1 after, smooth in between. */
static inline double world_eased(double x, double from, double to) {
    double u = (x - from) / (to - from);
    u = u < 0 ? 0 : u > 1 ? 1 : u;
    return u * u * (3 - 2 * u);
}

bool world_make_road(const struct world *world, uint64_t seed, struct world_outing *outing);
/* Where a wind from the road's top end and from the right of who rides down meets a place of the
 * road: from there, and from the right there. */
void world_wind_at(const struct world_outing *outing, double s_m, double along_ms, double *there_ms,
                   double *right_ms);
/* What was noted, taped and timed of the runs. */
void world_know(struct world_outing *outing);

/* A file in a directory, open to write. */
FILE *world_open(const char *directory, const char *name);
bool world_close(FILE *file);
void world_iso_time(double time_s, char text[32]);
/* The log beside the road; nothing where the world has none. */
bool world_write_log(const struct world_outing *outing, const char *directory);
#define WORLD_LOG "log.csv"

#endif
