/* What WASI lacks, the system that programs compiled to WebAssembly run on: signals, which nobody
 * sends there, permissions of files, which it has none of, and where a path really leads: nowhere
 * that is known. Elsewhere this is empty. */
#ifndef CW_BASE_WASI_H
#define CW_BASE_WASI_H

#ifdef __wasi__

typedef int sigset_t;

#define SIGHUP 1
#define SIGINT 2
#define SIGQUIT 3
#define SIGTERM 15
#define SIG_BLOCK 0
#define SIG_SETMASK 2

static inline void sigemptyset(sigset_t *set) {
    *set = 0;
}

static inline void sigaddset(sigset_t *set, int signal) {
    (void)set;
    (void)signal;
}

static inline void pthread_sigmask(int how, const sigset_t *set, sigset_t *before) {
    (void)how;
    (void)set;
    if (before) *before = 0;
}

static inline int fchmod(int fd, unsigned mode) {
    (void)fd;
    (void)mode;
    return 0;
}

static inline char *realpath(const char *path, char *resolved) {
    (void)path;
    (void)resolved;
    return 0;
}

#else

#include <signal.h>

#endif

#endif
