#include "base/each.h"

#include <stdbool.h>
#include <stdlib.h>

#ifndef __wasi__
#include <pthread.h>
#include <signal.h>
#endif

static enum cw_status tell(const struct cw_each *each, size_t i, enum cw_status came_to,
                           struct cw_error *fault) {
    if (each->told) return each->told(each->context, i, came_to, fault);
    return came_to < 0 ? came_to : CW_OK;
}

static enum cw_status one_by_one(const struct cw_each *each, struct cw_error *error) {
    struct cw_error fault;
    for (size_t i = 0; i < each->n; i++) {
        enum cw_status came_to = each->work(each->context, i, &fault);
        enum cw_status status = tell(each, i, came_to, &fault);
        if (status >= 0) continue;
        if (error) *error = fault;
        return status;
    }
    return CW_OK;
}

#ifdef __wasi__

enum cw_status cw_each(const struct cw_each *each, struct cw_error *error) {
    return one_by_one(each, error);
}

#else

/* What a thing came to, until that is told. */
struct slot {
    bool ready;
    enum cw_status came_to;
    struct cw_error fault;
};

struct crew {
    const struct cw_each *each;
    pthread_mutex_t lock;
    pthread_cond_t room, ready; /* there is room to go on; what is told next is ready */
    size_t next, told, ahead;   /* begun, told, and how far apart they may be */
    bool ended;
    struct slot *slots; /* ahead of them; that of thing i is i % ahead */
};

static void *work(void *state) {
    struct crew *crew = state;
    const struct cw_each *each = crew->each;
    pthread_mutex_lock(&crew->lock);
    for (;;) {
        while (!crew->ended && crew->next < each->n && crew->next >= crew->told + crew->ahead)
            pthread_cond_wait(&crew->room, &crew->lock);
        if (crew->ended || crew->next >= each->n) break;
        size_t i = crew->next++;
        struct slot *slot = &crew->slots[i % crew->ahead];
        pthread_mutex_unlock(&crew->lock);
        slot->came_to = each->work(each->context, i, &slot->fault);
        pthread_mutex_lock(&crew->lock);
        slot->ready = true;
        if (i == crew->told) pthread_cond_signal(&crew->ready);
    }
    pthread_mutex_unlock(&crew->lock);
    return NULL;
}

static enum cw_status tell_all(struct crew *crew, struct cw_error *error) {
    const struct cw_each *each = crew->each;
    enum cw_status status = CW_OK;
    struct cw_error fault;
    pthread_mutex_lock(&crew->lock);
    while (crew->told < each->n && status >= 0) {
        struct slot *slot = &crew->slots[crew->told % crew->ahead];
        while (!slot->ready) pthread_cond_wait(&crew->ready, &crew->lock);
        enum cw_status came_to = slot->came_to;
        if (came_to < 0) fault = slot->fault;
        slot->ready = false;
        pthread_mutex_unlock(&crew->lock);
        status = tell(each, crew->told, came_to, &fault);
        pthread_mutex_lock(&crew->lock);
        crew->told++;
        pthread_cond_broadcast(&crew->room);
    }
    crew->ended = true;
    pthread_cond_broadcast(&crew->room);
    pthread_mutex_unlock(&crew->lock);
    if (status < 0 && error) *error = fault;
    return status;
}

/* Begins up to so many threads; returns how many there are. They hold all signals: these are for
 * the thread that writes files, which holds them as long as a file is not whole. */
static size_t begin(struct crew *crew, pthread_t *threads, size_t most) {
    size_t n = 0;
    sigset_t all, before;
    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    while (n < most && !pthread_create(&threads[n], NULL, work, crew)) n++;
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return n;
}

enum cw_status cw_each(const struct cw_each *each, struct cw_error *error) {
    size_t most = each->threads < each->n ? each->threads : each->n;
    if (most < 2) return one_by_one(each, error);
    struct crew crew = {.each = each,
                        .lock = PTHREAD_MUTEX_INITIALIZER,
                        .room = PTHREAD_COND_INITIALIZER,
                        .ready = PTHREAD_COND_INITIALIZER,
                        .ahead = most * CW_EACH_AHEAD};
    crew.slots = calloc(crew.ahead, sizeof *crew.slots);
    pthread_t *threads = malloc(most * sizeof *threads);
    enum cw_status status = crew.slots && threads ? CW_OK : cw_error_memory(error);
    if (status == CW_OK) {
        size_t n = begin(&crew, threads, most);
        status = n ? tell_all(&crew, error) : one_by_one(each, error);
        while (n) pthread_join(threads[--n], NULL);
    }
    pthread_cond_destroy(&crew.room);
    pthread_cond_destroy(&crew.ready);
    pthread_mutex_destroy(&crew.lock);
    free(crew.slots);
    free(threads);
    return status;
}

#endif
