/* Checks nature.h against closed forms and published values. */
#ifndef CW_STUDY_NATURE_CHECK_H
#define CW_STUDY_NATURE_CHECK_H

#include <stdbool.h>

/* A line each; false when one is off. */
bool nature_check(void);
/* Says whether a value is what is expected. */
bool check_near(const char *what, double value, double expected, double tolerance);

#endif
