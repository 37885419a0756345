/* The pieces of a joint's runs, each worked on by itself: the whitening, and the way back through
 * it, are most of what a fit takes, and a piece needs nothing of the others there. What comes of
 * them is put together in their order, so digits are the same whatever the number of threads. */
#ifndef CW_FIT_CREW_H
#define CW_FIT_CREW_H

#include <stddef.h>

#include "base/error.h"
#include "fit/joint.h"

/* Work on piece p of run i, with a whitener that nobody else has meanwhile. */
typedef enum cw_status cw_piece_work(void *context, struct cw_whitener *whitener, size_t i,
                                     size_t p, struct cw_error *error);

/* All pieces of the subset (as cw_joint_evaluate has it), in as many threads as the joint has
 * whiteners. Ends with the first fault. */
enum cw_status cw_crew_work(const struct cw_joint *joint, const size_t *subset, size_t n,
                            cw_piece_work *work, void *context, struct cw_error *error);

/* Gives the joint whiteners for so many threads. */
enum cw_status cw_crew_hire(struct cw_joint *joint, size_t threads, struct cw_error *error);
void cw_crew_free(struct cw_joint *joint);

#endif
