/* For the time of a few lines, this thread reads and writes numbers with a point. A program that
 * links the library may have set a locale with a decimal comma; neither it nor its other threads
 * see anything of this.
 *
 *     locale_t before = cw_locale_plain();
 *     ...
 *     cw_locale_restore(before);
 */
#ifndef CW_BASE_LOCALE_H
#define CW_BASE_LOCALE_H

#include <locale.h>

/* The C locale takes no memory of its own in the usual C libraries and costs next to nothing; where
 * one cannot be had, things stay as they are. */
static inline locale_t cw_locale_plain(void) {
    locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    return plain ? uselocale(plain) : (locale_t)0;
}

static inline void cw_locale_restore(locale_t before) {
    if (before) freelocale(uselocale(before));
}

#endif
