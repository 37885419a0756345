/* Checks nature.h against closed forms and published values. */
#ifndef CW_STUDY_NATURE_CHECK_H
#define CW_STUDY_NATURE_CHECK_H

#include <stdbool.h>

/* A line each; false when one is off. */
bool nature_check(void);

#endif
