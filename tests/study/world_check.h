/* world.h held against what it says of itself. */
#ifndef CW_STUDY_WORLD_CHECK_H
#define CW_STUDY_WORLD_CHECK_H

#include <stdbool.h>

/* Prints a line a check; whether all are as they should be. */
bool world_check(void);

#endif
