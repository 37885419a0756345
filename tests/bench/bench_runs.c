/* What finding the runs of a long recording costs, in time against reading it, and in memory a
 * sample. */
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "recording/read.h"
#include "recording/write.h"
#include "runs/runs.h"
#include "simulate/simulate.h"

enum { TIMES = 3, RUNS = 240 };

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double peak_bytes(void) {
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return 1024.0 * (double)usage.ru_maxrss;
}

/* A day and more of coasting, as GPX; in a process of its own, so that what it takes is not in the
 * peak. */
static void make(const char *path) {
    struct cw_simulate_options options = cw_simulate_options_default();
    struct cw_simulated made;
    pid_t child = fork();
    int status = 1;
    if (!child) {
        cw_simulate_order(&options, RUNS / 2);
        _exit(cw_simulate(&options, &made, NULL) < 0 ||
              cw_recording_write(path, &made.recordings[0].samples, CW_FORMAT_GPX, false, NULL,
                                 NULL) < 0);
    }
    if (child < 0 || waitpid(child, &status, 0) != child || status) exit(1);
}

int main(void) {
    char path[] = "/tmp/bench_runs.XXXXXX";
    int file = mkstemp(path);
    if (file < 0 || close(file)) return 1;
    make(path);
    double read_s = 1e9, motion_s = 1e9, find_s = 1e9, base = peak_bytes(), read = 0, moved = 0,
           found = 0;
    size_t n = 0, runs_found = 0;
    for (int i = 0; i < TIMES; i++) {
        struct cw_recording recording;
        struct cw_motion motion;
        struct cw_runs runs;
        double t[4] = {now_s()};
        if (cw_recording_read(path, &recording, NULL) < 0) exit(1);
        t[1] = now_s();
        if (!i) read = peak_bytes() - base;
        if (cw_motion_make(&recording, &motion, NULL) < 0) exit(1);
        t[2] = now_s();
        if (!i) moved = peak_bytes() - base;
        if (cw_runs_find(&recording, &motion, 1, NULL, &runs, NULL) < 0) exit(1);
        t[3] = now_s();
        if (!i) found = peak_bytes() - base;
        if (t[1] - t[0] < read_s) read_s = t[1] - t[0];
        if (t[2] - t[1] < motion_s) motion_s = t[2] - t[1];
        if (t[3] - t[2] < find_s) find_s = t[3] - t[2];
        n = recording.samples.n;
        runs_found = runs.n;
        cw_runs_free(&runs);
        cw_motion_free(&motion);
        cw_recording_free(&recording);
    }
    printf("%zu samples, %zu runs: read in %.3f s, motion %.3f s, runs %.3f s: all %.2f times the "
           "reading\n",
           n, runs_found, read_s, motion_s, find_s, (read_s + motion_s + find_s) / read_s);
    printf("bytes a sample at most: %.0f read, %.0f with its motion, %.0f with its runs\n",
           read / (double)n, moved / (double)n, found / (double)n);
    unlink(path);
    return 0;
}
