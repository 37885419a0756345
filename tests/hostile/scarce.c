/* Takes the place of malloc, calloc, realloc and free in a program that this is loaded into before
 * anything else (LD_PRELOAD), and lets an allocation fail. tests/hostile/scarce runs programs so.
 * What it is to do stands in the environment:
 *
 *   SCARCE_AT=N      the N-th allocation fails (0: none does)
 *   SCARCE_REST=1    and so does every one behind it
 *   SCARCE_SHOW=1    the calls that led to the one that failed, on standard error
 *   SCARCE_TO=FILE   gets a line each of the allocations whose calls led to none before, then
 *                    one of two numbers: how many are not freed, and of how many there were
 *   SCARCE_CALLS=1   to FILE only those with a call that led to none before, each behind its
 *                    calls, a line each
 *
 * What is allocated behind the program's end, where coverage is written, does not count.
 *
 * What glibc allocates to set a locale may fail too, and is not counted as kept: it is glibc's to
 * free, and where it failed and is set again glibc keeps more than at the first go.
 *
 * glibc only: it stands on the names that glibc gives its own functions. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <execinfo.h>
#include <fcntl.h>
#include <locale.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t n, size_t size);
void *__libc_realloc(void *old, size_t size);
void __libc_free(void *old);

enum { CALLS = 24, SEEN = 1 << 18 };

static atomic_long made, kept;
static long fail_at;
static bool fail_rest, show, by_call, begun;
static int to = -1;
static _Thread_local bool inside;  /* what is allocated here does not count */
static _Thread_local bool setting; /* a locale: may fail, and is glibc's own */
static char *(*set_locale)(int, const char *);
static uint64_t seen[SEEN]; /* calls that led to an allocation, hashed */
static size_t n_seen;

static long number_of(const char *name) {
    const char *text = getenv(name);
    return text ? strtol(text, NULL, 10) : 0;
}

__attribute__((constructor)) static void begin(void) {
    void *call[1];
    const char *path = getenv("SCARCE_TO");
    inside = true;
    backtrace(call, 1); /* loads what it needs */
    *(void **)&set_locale = dlsym(RTLD_NEXT, "setlocale");
    fail_at = number_of("SCARCE_AT");
    fail_rest = number_of("SCARCE_REST");
    show = number_of("SCARCE_SHOW");
    by_call = number_of("SCARCE_CALLS");
    if (path) to = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    inside = false;
    begun = true;
}

/* Whether this was never seen; it is then. */
static bool is_first(uint64_t hash) {
    size_t at = (size_t)(hash >> 20) % SEEN;
    while (seen[at] && seen[at] != hash) at = (at + 1) % SEEN;
    if (seen[at] || n_seen > SEEN / 2) return false;
    seen[at] = hash;
    n_seen++;
    return true;
}

/* Whether these calls led to an allocation before, or each of them did; they have then. */
static bool is_new(void *const *call, int n) {
    static const uint64_t basis = 1469598103934665603u;
    uint64_t hash = basis;
    bool any = false;
    for (int i = 2; i < n; i++) {
        hash = ((by_call ? basis : hash) ^ (uint64_t)(uintptr_t)call[i]) * 1099511628211u;
        if (by_call) any |= is_first(hash);
    }
    return by_call ? any : is_first(hash);
}

static void end(void) {
    char line[64];
    begun = false;
    if (to < 0) return;
    int length = snprintf(line, sizeof line, "%ld %ld\n", (long)kept, (long)made);
    if (write(to, line, (size_t)length) != length) _exit(125);
}

/* Whether this allocation is let be. */
static bool granted(void) {
    void *call[CALLS];
    int n;
    char line[32];
    if (!begun || inside) return true;
    long number = ++made;
    if (number == 1) atexit(end); /* so late that it comes before what the program's own end does */
    bool fails = fail_at && (fail_rest ? number >= fail_at : number == fail_at);
    if (to < 0 && !(fails && show)) goto decide;
    inside = true;
    if (fails && show) {
        backtrace_symbols_fd(call, backtrace(call, CALLS), STDERR_FILENO);
    } else if (!fail_at && is_new(call, n = backtrace(call, CALLS))) {
        if (by_call) backtrace_symbols_fd(call + 2, n - 2, to);
        int length = snprintf(line, sizeof line, "%ld\n", number);
        if (write(to, line, (size_t)length) != length) _exit(125);
    }
    inside = false;
decide:
    if (fails)
        errno = ENOMEM;
    else
        kept += !setting;
    return !fails;
}

static void gone(const void *old) {
    if (old && begun && !inside && !setting) kept--;
}

void *malloc(size_t size) {
    return granted() ? __libc_malloc(size) : NULL;
}

void *calloc(size_t n, size_t size) {
    return granted() ? __libc_calloc(n, size) : NULL;
}

void *realloc(void *old, size_t size) {
    if (!granted()) return NULL;
    gone(old);
    return __libc_realloc(old, size);
}

void free(void *old) {
    gone(old);
    __libc_free(old);
}

char *setlocale(int category, const char *locale) {
    setting = true;
    char *name = set_locale(category, locale);
    setting = false;
    return name;
}
