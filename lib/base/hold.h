/* Signals that end a program, held off for a moment in this thread: what is being written then
 * appears whole, or is taken back, before the program ends. */
#ifndef CW_BASE_HOLD_H
#define CW_BASE_HOLD_H

#include "base/wasi.h"

struct cw_held {
    sigset_t before;
};

/* From here on they wait. */
static inline struct cw_held cw_hold_signals(void) {
    struct cw_held held;
    sigset_t ending;
    sigemptyset(&ending);
    sigaddset(&ending, SIGHUP);
    sigaddset(&ending, SIGINT);
    sigaddset(&ending, SIGQUIT);
    sigaddset(&ending, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &ending, &held.before);
    return held;
}

/* Those that came meanwhile do now what they do. */
static inline void cw_release_signals(const struct cw_held *held) {
    pthread_sigmask(SIG_SETMASK, &held->before, NULL);
}

#endif
