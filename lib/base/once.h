/* What a process does once, whichever thread comes first; others wait until it is done. Inside the
 * library only. */
#ifndef CW_BASE_ONCE_H
#define CW_BASE_ONCE_H

#ifdef __wasi__ /* one thread */

#include <stdbool.h>

#define CW_ONCE_FIRST false
typedef bool cw_once_flag;

static inline void cw_once(cw_once_flag *flag, void (*first)(void)) {
    if (*flag) return;
    *flag = true;
    first();
}

#else

#include <pthread.h>

#define CW_ONCE_FIRST PTHREAD_ONCE_INIT
typedef pthread_once_t cw_once_flag;

static inline void cw_once(cw_once_flag *flag, void (*first)(void)) {
    pthread_once(flag, first);
}

#endif

#endif
