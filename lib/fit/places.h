/* A run's stretches as the filter came to them and left them, for the way back over them
 * (fit/whiten_slope.c). */
#ifndef CW_FIT_PLACES_H
#define CW_FIT_PLACES_H

#include <stddef.h>

#include "base/error.h"
#include "fit/markov.h"

struct cw_whitener;

/* A stretch: points from `from` up to `end`. */
struct cw_kept_place {
    size_t from, end, touched, low, tail, width;
    double p[CW_STATES][CW_STATES_SIDE];
    double *past;    /* CW_STATES x the run's columns */
    double *carried; /* room for as many */
    double *mean;    /* at its end, CW_STATES x width */
    double *product; /* width x width */
    size_t room;     /* of past and those after it, all one block */
};

/* The last is no stretch but what the states are at the run's end, without mean and product. All
 * zero is none; with n set back to 0 the next ones take their room. Free with cw_places_free. */
struct cw_places {
    size_t n, room;
    struct cw_kept_place *at; /* room */
};

/* Adds the stretch that the whitener has begun, of a run of so many columns; CW_E_MEMORY. */
enum cw_status cw_places_come(struct cw_places *places, const struct cw_whitener *whitener,
                              size_t from, size_t end, size_t columns);
/* The last is filtered: how it is left. */
void cw_places_leave(struct cw_places *places, const struct cw_whitener *whitener);
void cw_places_free(struct cw_places *places);

#endif
