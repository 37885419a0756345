/* Locales whose numbers have another decimal point, made for a test: a machine need not have any.
 */
#ifndef CW_POINTS_H
#define CW_POINTS_H

#include <stdbool.h>

/* A comma, and an Arabic decimal separator (U+066B), which takes two bytes. Thousands are parted.
 */
extern const char *const points[2];

/* Makes a locale that has points[i] and sets it for numbers, as a program's setlocale would; false,
 * saying why, where the system cannot (it needs localedef, which glibc brings). */
bool points_set(int i);
/* Back to the C locale. */
void points_unset(void);

#endif
