/* Work on many things, several at once, told in their order.
 *
 * Each thing is worked on by itself, in whatever thread has time; what came of it is told to the
 * caller in the order of the things, in the caller's thread, so that whoever writes answers or
 * messages there writes the same whatever the number of threads. Only so many are worked on ahead
 * of what was told, so what they came to never is much in memory. */
#ifndef CW_BASE_EACH_H
#define CW_BASE_EACH_H

#include <stddef.h>

#include "base/error.h"

/* A thread is at most so many things ahead of what was told. */
#define CW_EACH_AHEAD 16

struct cw_each {
    size_t n;
    size_t threads; /* at most; 0 and 1: the caller's alone */
    void *context;  /* handed to both */
    /* In any thread, with signals that a process can hold held. */
    enum cw_status (*work)(void *context, size_t i, struct cw_error *error);
    /* In the caller's thread, from 0 on: what work returned, and its error where that is below 0.
     * Returns below 0, with *error set, to end it all. NULL: a failed thing ends it all. */
    enum cw_status (*told)(void *context, size_t i, enum cw_status came_to, struct cw_error *error);
};

/* CW_OK, or what ended it, of things that fail that which comes first; what was begun is finished
 * either way, and what was not told then is not told. error may be NULL. */
enum cw_status cw_each(const struct cw_each *each, struct cw_error *error);

#endif
