/* Worlds to ride in: what air, road, rider and recorder are like, each under a name. */
#ifndef CW_SIMULATE_WORLDS_H
#define CW_SIMULATE_WORLDS_H

#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "simulate/options.h"

CW_PUBLIC_BEGIN

/* A world is nothing but settings (cw_simulate_set_all). All constants. */
struct cw_simulate_world {
    const char *name, *meaning, *settings;
};

/* The i-th world, from 0; NULL behind the last. */
const struct cw_simulate_world *cw_simulate_world_at(size_t i);
/* NULL where there is none of the name. */
const struct cw_simulate_world *cw_simulate_world_named(const char *name);

CW_PUBLIC_END

#endif
